//! Turbulent fluxes, the surface budget and its equilibrium.

use plungeline::physics::atmosphere::saturation_vapour_pressure_pa;
use plungeline::physics::longwave::{ClearSky, CloudSky, clear_sky_emissivity, cloudy_emissivity};
use plungeline::physics::surface_balance::{QuickExchange, equilibrium_temp_degc};
use plungeline::physics::turbulent_flux::*;

use crate::published::row;

/// Transfer coefficient of the neutral law (Fischer et al. 1979).
const NEUTRAL: f64 = 1.3e-3;

/// Wind, air temperature, relative humidity, water temperature; air measured at 2 m, wind at 10 m.
fn air(wind_speed_m_s: f64, air_temp_degc: f64, humidity_frac: f64, water_temp_degc: f64) -> SurfaceAir {
    SurfaceAir {
        wind_speed_m_s,
        wind_height_m: 10.0,
        air_temp_degc,
        vapour_pressure_pa: humidity_frac * saturation_vapour_pressure_pa(air_temp_degc),
        temp_height_m: 2.0,
        water_temp_degc,
        pressure_pa: 101_325.0,
    }
}

#[test]
fn the_neutral_law_loses_what_its_coefficient_says() {
    let air = SurfaceAir {
        pressure_pa: 90_000.0,
        ..air(5.0, 15.0, 0.6, 20.0)
    };
    let flux = neutral_flux(&air, NEUTRAL);
    row("P3-NEUT-H").assert(&[flux.sensible_w_m2]);
    row("P3-NEUT-LE").assert(&[flux.latent_w_m2]);
}

#[test]
fn stability_changes_the_fluxes_as_independent_codes_have_it() {
    let unstable = stable_flux(&air(5.0, 15.0, 0.6, 20.0));
    row("P3-MOST-H1").assert(&[unstable.sensible_w_m2]);
    row("P3-MOST-LE1").assert(&[unstable.latent_w_m2]);
    let stable = stable_flux(&air(8.0, 25.0, 0.4, 22.0));
    // The row counts the gain of the water, we its loss.
    row("P3-MOST-H2").assert(&[-stable.sensible_w_m2]);
    row("P3-MOST-LE2").assert(&[stable.latent_w_m2]);
    row("P3-MOST-H3").assert(&[stable_flux(&air(2.0, 12.0, 0.8, 18.0)).sensible_w_m2]);
}

#[test]
fn a_calm_and_a_storm_end_and_stay_finite() {
    for wind in [0.0, 0.05, 1.0, 40.0] {
        for (air_degc, water_degc) in [(-30.0, 20.0), (40.0, 0.0), (15.0, 15.0)] {
            let flux = stable_flux(&air(wind, air_degc, 0.5, water_degc));
            assert!(
                flux.sensible_w_m2.is_finite() && flux.latent_w_m2.is_finite(),
                "{wind} {flux:?}"
            );
            assert!(flux.air_friction_m_s > 0.0, "{wind} {flux:?}");
            // Heat goes from the warmer to the colder.
            if (air_degc - water_degc).abs() > 1.0 {
                assert_eq!(flux.sensible_w_m2 > 0.0, water_degc > air_degc, "{wind} {flux:?}");
            }
        }
    }
}

#[test]
fn evaporation_is_the_latent_heat_in_millimetres() {
    row("P3-EVAP").assert(&[evaporation_m_s(159.2, 20.0) * 86_400.0 * 1000.0]);
}

#[test]
fn the_quick_exchange_and_its_equilibrium_are_as_published() {
    let quick = QuickExchange {
        wind_speed_m_s: 4.0,
        dew_point_degc: 10.0,
    };
    row("P3-EQ-K").assert(&[quick.exchange_w_m2_k(20.0)]);
    row("P3-EQ-TE").assert(&[quick.equilibrium_degc(200.0).unwrap()]);
}

#[test]
fn the_whole_budget_vanishes_where_an_independent_root_finder_says() {
    let air = SurfaceAir {
        pressure_pa: 90_000.0,
        ..air(4.0, 20.0, 0.5, 20.0)
    };
    let clear = clear_sky_emissivity(ClearSky::Brutsaert, 20.0, air.vapour_pressure_pa);
    let sky = cloudy_emissivity(CloudSky::CrawfordDuchon, clear, 0.2);
    let sunlight_w_m2 = 250.0 * (1.0 - 0.06);
    let found = equilibrium_temp_degc(&air, sunlight_w_m2, sky, |air| neutral_flux(air, NEUTRAL)).unwrap();
    row("P3-EQ-FULL").assert(&[found]);
    // A sun that would boil the lake has no equilibrium.
    assert_eq!(
        equilibrium_temp_degc(&air, 1e5, sky, |air| neutral_flux(air, NEUTRAL)),
        None
    );
}
