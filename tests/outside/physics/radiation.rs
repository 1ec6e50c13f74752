//! Sunlight and longwave radiation, and the air they pass.

use plungeline::physics::atmosphere::*;
use plungeline::physics::longwave::*;
use plungeline::physics::radiation::*;

use crate::published::row;

/// Megajoules a square metre and day in a watt a square metre (exact).
const MJ_DAY: f64 = 0.0864;

#[test]
fn the_top_of_the_air_and_the_day_are_those_of_fao_56() {
    row("P2-FAO-RA").assert(&[extraterrestrial_w_m2(-20.0, 246.0) * MJ_DAY]);
    row("P2-FAO-RA18").assert(&[extraterrestrial_w_m2(50.80, 187.0) * MJ_DAY]);
    row("P2-RA-40").assert(&[extraterrestrial_w_m2(40.0, 288.0) * MJ_DAY]);
    row("P2-FAO-DEC").assert(&[declination_rad(246.0)]);
    row("P2-FAO-WS").assert(&[sunset_hour_angle_rad(-20.0, 246.0)]);
    row("P2-FAO-DR").assert(&[inverse_relative_distance(246.0)]);
    row("P2-FAO-N").assert(&[daylight_h(-20.0, 246.0)]);
    row("P2-N-40").assert(&[daylight_h(40.0, 288.0)]);
}

#[test]
fn polar_night_and_day_are_days_too() {
    assert_eq!(daylight_h(80.0, 355.0), 0.0);
    assert_eq!(daylight_h(80.0, 172.0), 24.0);
    assert_eq!(extraterrestrial_w_m2(80.0, 355.0), 0.0);
}

#[test]
fn radiation_that_reaches_the_ground_is_that_of_fao_56() {
    row("P2-FAO-RS").assert(&[from_sunshine_w_m2(25.1 / MJ_DAY, 7.1, 10.9) * MJ_DAY]);
    row("P2-FAO-RSO").assert(&[clear_sky_daily_w_m2(25.1 / MJ_DAY, 0.0) * MJ_DAY]);
    let net = fao_net_longwave_w_m2(FaoDay {
        max_degc: 25.1,
        min_degc: 19.1,
        vapour_pressure_pa: 2100.0,
        clearness_frac: 14.5 / 18.8,
    });
    row("P2-FAO-RNL").assert(&[net * MJ_DAY]);
    // Albedo 0.23 of grass.
    row("P2-FAO-RN").assert(&[(1.0 - 0.23) * 14.5 - net * MJ_DAY]);
}

#[test]
fn the_air_is_that_of_fao_56() {
    row("P2-FAO-P").assert(&[fao_pressure_pa(1800.0) / 1000.0]);
    row("P2-FAO-GAM").assert(&[psychrometric_constant_pa_k(81_800.0) / 1000.0]);
    let mean = 0.5 * (saturation_vapour_pressure_pa(24.5) + saturation_vapour_pressure_pa(15.0));
    row("P2-FAO-ES").assert(&[mean / 1000.0]);
    row("P2-FAO-EAP").assert(&[psychrometer_vapour_pressure_pa(25.6, 19.5, 87_900.0) / 1000.0]);
    row("P2-FAO-DEL").assert(&[saturation_slope_pa_k(30.2) / 1000.0]);
    row("P2-FAO-U2").assert(&[fao_wind_2m_m_s(3.2, 10.0)]);
    row("P3-WIND-3").assert(&[wind_height_factor(3.0, 10.0, 2e-4)]);
}

#[test]
fn a_clear_hour_and_cloud_are_as_published() {
    row("P2-HAUR-40").assert(&[clear_sky_hourly_w_m2(40.0)]);
    assert_eq!(clear_sky_hourly_w_m2(90.0), 0.0);
    row("P2-KC-05").assert(&[cloud_transmission(0.5)]);
    row("P2-KC-075").assert(&[cloud_transmission(0.75)]);
    row("P2-AM-60").assert(&[relative_air_mass(60.0).unwrap()]);
    assert_eq!(relative_air_mass(91.0), None);
    for cloud in [0.1, 0.5, 0.9] {
        // There and back by the same formula.
        assert!((cloud_from_transmission(cloud_transmission(cloud)) - cloud).abs() < 1e-12);
    }
}

#[test]
fn water_sends_light_back_and_takes_it_up_as_published() {
    row("P3-ALB-60").assert(&[direct_albedo(60.0)]);
    row("P3-FRESNEL-0").assert(&[normal_reflectance(1.333)]);
    row("P3-ALB-JAN").assert(&[daily_albedo(15.0)]);
    row("P3-KD").assert(&[extinction_per_m(4.0)]);
    let light = LightInWater {
        surface_frac: 0.45,
        extinction_per_m: 0.5,
    };
    row("P4-RADF").assert(&[light.at_depth_w_m2(600.0, 2.0)]);
    row("P4-RAD1").assert(&[light.absorbed_w_m3(600.0, 1.0) / (999.1 * 4188.5) * 3600.0]);
    assert_eq!(light.at_depth_w_m2(600.0, 0.0), 600.0);
}

#[test]
fn the_sky_sends_longwave_radiation_as_each_formula_has_it() {
    let sky = |form, temp, pa| sky_longwave_w_m2(clear_sky_emissivity(form, temp, pa), temp);
    for (id, form) in [
        ("P3-LW-BRUNT", ClearSky::Brunt),
        ("P3-LW-BRUTSAERT", ClearSky::Brutsaert),
        ("P3-LW-PRATA", ClearSky::Prata),
        ("P3-LW-SWINBANK", ClearSky::Swinbank),
        ("P3-LW-DILLEY", ClearSky::Dilley),
    ] {
        row(id).assert(&[sky(form, 20.0, 1200.0)]);
    }
    row("P3-LW-B5").assert(&[sky(ClearSky::Brutsaert, 5.0, 600.0)]);
    let clear = clear_sky_emissivity(ClearSky::Brutsaert, 20.0, 1200.0);
    for (id, form) in [
        ("P3-LW-CD", CloudSky::CrawfordDuchon),
        ("P3-LW-UM", CloudSky::UnsworthMonteith),
    ] {
        row(id).assert(&[sky_longwave_w_m2(cloudy_emissivity(form, clear, 0.5), 20.0)]);
    }
    row("P3-LWO-20").assert(&[water_longwave_w_m2(20.0)]);
}
