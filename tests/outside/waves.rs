//! Waves against the Shore Protection Manual, the USACE worked examples and scientimate.

use plungeline::physics::waves::*;
use plungeline::units::{M_PER_FT, M_PER_MI, M_S_PER_MPH};

use crate::published::row;

fn spm(wind_speed_m_s: f64, fetch_m: f64) -> Reach {
    Reach {
        adjusted_wind_m_s: adjusted_wind_spm_m_s(wind_speed_m_s),
        fetch_m,
    }
}

#[test]
fn deep_waves_agree_with_the_shore_protection_manual() {
    let waves = deep_waves(spm(10.0, 5000.0));
    row("P9-SPM-H").assert(&[waves.height_m]);
    row("P9-SPM-TP").assert(&[waves.period_s]);
    row("S-WAVE").assert(&[waves.height_m, waves.period_s]);
    row("P9-SPM-T").assert(&[deep_duration_h(spm(10.0, 5000.0))]);
}

#[test]
fn the_worked_example_of_shallow_open_water_is_met() {
    row("P9-A1-UA").assert(&[adjusted_wind_garratt_m_s(46.42 * M_S_PER_MPH) / M_S_PER_MPH]);
    let reach = Reach {
        adjusted_wind_m_s: 67.92 * M_S_PER_MPH,
        fetch_m: 26.0 * M_PER_MI,
    };
    let waves = depth_limited_waves(reach, 13.0 * M_PER_FT);
    row("P9-A1-H").assert(&[waves.height_m / M_PER_FT]);
    row("P9-A1-T").assert(&[waves.period_s]);
}

#[test]
fn the_worked_example_of_restricted_fetch_is_met() {
    row("P9-A3-UA").assert(&[adjusted_wind_garratt_m_s(44.0 * M_S_PER_MPH) / M_S_PER_MPH]);
    let reach = Reach {
        adjusted_wind_m_s: 63.27 * M_S_PER_MPH,
        fetch_m: 26.61 * M_PER_MI,
    };
    let waves = restricted_fetch_waves(reach, 32.0);
    row("P9-A3-H").assert(&[waves.height_m / M_PER_FT]);
    row("P9-A3-T").assert(&[waves.period_s]);
}

#[test]
fn shallow_water_holds_waves_down() {
    let waves = depth_limited_waves(spm(10.0, 5000.0), 5.0);
    row("P9-SH-5H").assert(&[waves.height_m]);
    row("P9-SH-5T").assert(&[waves.period_s]);
    row("P9-SH-3").assert(&[depth_limited_waves(spm(15.0, 8000.0), 3.0).height_m]);
}

#[test]
fn water_of_great_depth_has_the_waves_of_deep_water() {
    // tanh x = x for small x: 0.283 * 0.00565 = 0.001599 against 0.0016, 7.54 * 0.0379 = 0.28577 against 0.2857.
    let reach = spm(8.0, 2000.0);
    let (deep, limited) = (deep_waves(reach), depth_limited_waves(reach, 500.0));
    assert!(
        (limited.height_m / deep.height_m - 1.0).abs() < 0.01,
        "{limited:?} {deep:?}"
    );
    // tanh x / x is 0.98 at the x = 0.23 that this fetch gives.
    assert!(
        (limited.period_s / deep.period_s - 1.0).abs() < 0.02,
        "{limited:?} {deep:?}"
    );
}

#[test]
fn the_off_wind_fetch_of_a_narrow_arm_lies_along_the_arm() {
    // An arm that runs north and south, 300 m wide and 8 km long, wind from 30 degrees.
    let radial = [
        (0.0, 8000.0),
        (15.0, 600.0),
        (90.0, 150.0),
        (180.0, 8000.0),
        (270.0, 150.0),
        (345.0, 600.0),
    ];
    let fetch = restricted_fetch(&radial, 30.0).unwrap();
    assert!((25.0..=32.0).contains(&fetch.off_wind_angle_deg), "{fetch:?}");
    // Along the wind only some 550 m are open: the waves that come down the arm are higher.
    let both = higher_of_both(12.0, &radial, Some(30.0)).unwrap();
    assert!(both.height_m > deep_waves(spm(12.0, radial_fetch_m(&radial, 30.0).unwrap())).height_m);
}

#[test]
fn an_unknown_wind_direction_takes_the_worst() {
    let radial = [(0.0, 500.0), (90.0, 6000.0), (200.0, 900.0)];
    let worst = higher_of_both(9.0, &radial, None).unwrap();
    for direction_deg in [0.0, 45.0, 90.0, 135.0, 200.0, 300.0] {
        assert!(
            higher_of_both(9.0, &radial, Some(direction_deg))
                .unwrap()
                .height_m
                <= worst.height_m + 1e-12
        );
    }
}

#[test]
fn without_fetch_or_wind_there_is_no_judgement() {
    assert_eq!(higher_of_both(9.0, &[], Some(10.0)), None);
    assert_eq!(higher_of_both(f64::NAN, &[(0.0, 500.0)], Some(10.0)), None);
    assert_eq!(
        higher_of_both(0.0, &[(0.0, 500.0)], Some(0.0)).unwrap().height_m,
        0.0
    );
}

#[test]
fn the_other_forms_agree_with_their_rows() {
    let waves = friction_velocity_waves(10.0, 5000.0);
    row("P9-CEM-H").assert(&[waves.height_m]);
    row("P9-CEM-T").assert(&[waves.period_s]);
    // The JONSWAP growth is the deep form with the wind itself in place of the adjusted one.
    let unadjusted = Reach {
        adjusted_wind_m_s: 10.0,
        fetch_m: 5000.0,
    };
    row("P9-JON").assert(&[deep_waves(unadjusted).height_m]);
    row("P9-L0").assert(&[deep_wavelength_m(2.0)]);
    row("P9-HMAX").assert(&[highest_ratio_of(1000)]);
}

#[test]
fn the_effective_fetch_of_a_circle_is_that_of_the_row() {
    // From the rim of a circle of diameter 1 the way across at an angle a to the diameter is cos a; in whole degrees, so
    // that every ray of the sum is one of them.
    let radial: Vec<(f64, f64)> = (0..360)
        .map(|deg| {
            let off = f64::from(if deg > 180 { deg - 360 } else { deg });
            (f64::from(deg), off.to_radians().cos().max(0.0))
        })
        .collect();
    row("P9-FEFF").assert(&[effective_fetch_m(&radial, 0.0).expect("radials")]);
    assert_eq!(effective_fetch_m(&[], 0.0), None);
}
