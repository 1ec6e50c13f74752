//! The report as a value, the catch to be expected, the table of stretches, and faults.

use plungeline::lake::{SpeciesId, ZoneId};
use plungeline::math::streams::stream;
use plungeline::species::{Species, builtin};
use plungeline::trips::{MarkKind, Reason};
use plungeline::whereabouts::learn::predict::expected_catch;
use plungeline::whereabouts::learn::report::{ReportAsked, ShareChange, ShareSpread, SpeciesReport};
use plungeline::whereabouts::learn::stretch_table::{
    Season, TablePlace, TemperatureClass, caught_in, stretch_table,
};
use plungeline::whereabouts::learn::{
    Effort, FitError, FitOptions, FitReport, Marks, SpeciesRows, TripRows, fit_report, fit_species,
};

use super::angler::Truth;
use super::made_up::{ZONES, options, trips};

fn simulated(species: &Species, count: usize) -> Vec<TripRows> {
    let mut numbers = stream(5, "small");
    let truth = Truth::drawn(species, &mut numbers);
    trips((species, None), &truth, count, &mut numbers)
}

fn rows<'a>(species: &'a Species, trips: &'a [TripRows]) -> SpeciesRows<'a> {
    SpeciesRows {
        species,
        mature_frac: None,
        trips,
    }
}

#[test]
fn the_report_is_whole_and_comes_back_from_json() {
    let species = builtin("rainbow-trout").unwrap();
    let mut all = simulated(&species, 50);
    for trip in all.iter_mut().step_by(5) {
        trip.efforts[0].reason = Some(Reason::Report);
    }
    let morning = all[0].morning.clone();
    let asked = ReportAsked {
        caught: None,
        fishable: &ZONES.map(ZoneId::new),
        mornings: &[morning],
        draws: 2000,
        seed: 1,
    };
    let (fits, report) = fit_report(&[rows(&species, &all)], &options(), &asked).unwrap();
    let of = &report.species[&SpeciesId::new("rainbow-trout")];
    assert_eq!((of.trips, fits.len()), (50, 1));
    assert_eq!(
        of.coefficients.len(),
        species.rules.len() + species.catchability.len()
    );
    assert!(
        of.dispersion.estimated && of.place_sd.estimated,
        "from 40 trips on"
    );
    let r0 = of.coefficients.iter().find(|c| c.learned.id == "R0").unwrap();
    assert!(
        r0.without_reports_sd.is_some() && r0.influences.len() == 3,
        "{r0:?}"
    );
    assert_eq!(of.shares.len(), 3);
    type Which = fn(&ShareChange) -> ShareSpread;
    let which: [Which; 2] = [|s| s.rules, |s| s.learned];
    for share in which {
        assert!((of.shares.iter().map(|s| share(s).share).sum::<f64>() - 1.0).abs() < 1e-12);
        assert!(
            of.shares
                .iter()
                .all(|s| share(s).low <= share(s).median && share(s).median <= share(s).high)
        );
    }
    let text = serde_json::to_string(&report).unwrap();
    let back: FitReport = serde_json::from_str(&text).unwrap();
    // Numbers come back to the last digit but one, so words, counts and names are compared.
    let of_back = &back.species[&SpeciesId::new("rainbow-trout")];
    assert_eq!(
        (&of_back.name, of_back.trips, &of_back.left_out),
        (&of.name, of.trips, &of.left_out)
    );
    let ids =
        |r: &SpeciesReport| -> Vec<String> { r.coefficients.iter().map(|c| c.learned.id.clone()).collect() };
    assert_eq!(ids(of_back), ids(of));
}

#[test]
fn the_catch_to_be_expected_follows_hours_and_knows_closed_zones() {
    let species = builtin("rainbow-trout").unwrap();
    let all = simulated(&species, 50);
    let rows = rows(&species, &all);
    let fit = fit_species(&rows, &options()).unwrap();
    let plan = |zone: &str, effort_h: f64| Effort {
        zone: ZoneId::new(zone),
        stretch: None,
        effort_h,
        catch: 0,
        catch_response: vec![0.0; species.catchability.len()],
        reason: None,
        surface_temp_degc: None,
    };
    let mut morning = all[0].morning.clone();
    morning.zones[1].closed = true;
    let expect = |plan: &Effort| expected_catch((&fit, &rows), &morning, plan, (2000, 1)).unwrap();
    let (one, four) = (
        expect(&plan("main", 1.0)).unwrap(),
        expect(&plan("main", 4.0)).unwrap(),
    );
    assert!((four.mean_fish / one.mean_fish - 4.0).abs() < 1e-9);
    assert!(four.at_least_one_prob > one.at_least_one_prob && four.high_fish >= one.high_fish);
    assert_eq!(expect(&plan("south", 4.0)), None, "closed");
    let mut wrong = plan("main", 1.0);
    wrong.catch_response.pop();
    let error = expected_catch((&fit, &rows), &morning, &wrong, (10, 1)).unwrap_err();
    assert!(matches!(error, FitError::Shape { .. }), "{error}");
}

#[test]
fn the_table_of_stretches_sums_by_season_and_temperature() {
    let species = builtin("rainbow-trout").unwrap();
    let mut all = simulated(&species, 4);
    for (i, trip) in all.iter_mut().enumerate() {
        let effort = &mut trip.efforts[0];
        effort.zone = ZoneId::new("north");
        effort.stretch = Some("bluffs".to_owned());
        (effort.effort_h, effort.catch) = (2.0, i as u32);
        effort.surface_temp_degc = [None, Some(7.0), Some(12.0), Some(19.0)][i];
    }
    let table = stretch_table(&caught_in(&rows(&species, &all)), 1.5);
    let of = |season, temperature| {
        table
            .iter()
            .find(|r| {
                matches!(r.place, TablePlace::Stretch { .. })
                    && r.season == season
                    && r.temperature == temperature
            })
            .unwrap()
    };
    let whole = of(None, None);
    assert_eq!(
        (whole.stays, whole.effort_h, whole.catch, whole.catch_per_h),
        (4, 8.0, 6, 0.75)
    );
    // scipy 1.17.1: gamma.ppf([0.1, 0.9], 6 / 2 + 0.5, scale = 2 / 8), widening 1 + 1.5 / 1.5 = 2.
    assert!(
        (whole.low_per_h - 0.354_138_3).abs() < 1e-6 && (whole.high_per_h - 1.502_129_6).abs() < 1e-6,
        "{whole:?}"
    );
    assert_eq!(of(Some(Season::Winter), None).stays, 4, "January");
    for (class, catch) in [
        (TemperatureClass::NotKnown, 0),
        (TemperatureClass::Cold, 1),
        (TemperatureClass::Cool, 2),
        (TemperatureClass::Warm, 3),
    ] {
        assert_eq!(of(None, Some(class)).catch, catch);
    }
}

#[test]
fn marks_move_shares_too_and_less_than_fish() {
    let species = builtin("rainbow-trout").unwrap();
    let mut all = simulated(&species, 30);
    all.iter_mut().for_each(|t| t.efforts.clear());
    let none = fit_species(&rows(&species, &all), &options()).unwrap();
    assert!(
        none.trips == 0 && none.moved_sd.iter().all(|z| *z == 0.0),
        "hours of nothing teach nothing"
    );
    for trip in &mut all {
        for (zone, count) in [("main", 1), ("north", 12)] {
            trip.marks.push(Marks {
                zone: ZoneId::new(zone),
                kind: MarkKind::Single,
                watched_h: 1.0,
                count,
            });
        }
    }
    let arm = species.rules.iter().position(|r| r.id == "R0").unwrap();
    let with = fit_species(&rows(&species, &all), &options()).unwrap();
    assert!(
        with.belief.mean(arm) > species.rules[arm].mean + 0.2,
        "{}",
        with.belief.mean(arm)
    );
    let without = FitOptions {
        with_marks: false,
        ..options()
    };
    assert_eq!(fit_species(&rows(&species, &all), &without).unwrap().trips, 0);
}

#[test]
fn rows_and_options_that_cannot_be_are_refused() {
    let species = builtin("rainbow-trout").unwrap();
    let good = simulated(&species, 3);
    let refused = |change: &dyn Fn(&mut TripRows)| {
        let mut all = good.clone();
        change(&mut all[1]);
        fit_species(&rows(&species, &all), &options()).unwrap_err()
    };
    let error = refused(&|t| t.morning.zones[0].response.truncate(3));
    assert!(
        matches!(&error, FitError::Shape { trip, found: 3, .. } if trip == "trip-1"),
        "{error}"
    );
    for hours in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let error = refused(&|t| t.efforts[0].effort_h = hours);
        assert!(matches!(error, FitError::Number { .. }), "{error}");
    }
    let error = refused(&|t| t.morning.zones[0].response[0] = f64::NAN);
    assert!(matches!(error, FitError::Number { .. }), "{error}");
    for wrong in [
        FitOptions {
            half_life_days: Some(0.0),
            ..options()
        },
        FitOptions {
            week_correlation: 1.0,
            ..options()
        },
        FitOptions {
            held_dispersion: Some(-1.0),
            ..options()
        },
        FitOptions {
            held_place_sd: Some(f64::NAN),
            ..options()
        },
    ] {
        let error = fit_species(&rows(&species, &good), &wrong).unwrap_err();
        assert!(matches!(error, FitError::Choice { .. }), "{error}");
    }
    let error = refused(&|t| (t.efforts[0].effort_h, t.efforts[0].catch) = (f64::MAX, u32::MAX));
    assert!(matches!(error, FitError::NoTop { .. }), "{error}");
}
