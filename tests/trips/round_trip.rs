//! What leaves the log comes back as it was, in every form.

use chrono::{DateTime, NaiveDate, Utc};
use plungeline::lake::{SpeciesId, ZoneId};
use plungeline::trips::forms::{
    read_trips_csv, read_trips_json, trips_csv, trips_json, trips_of_parquet, trips_parquet,
};
use plungeline::trips::{
    Catch, Instrument, Leg, Light, Mark, MarkKind, Origin, Placed, Reading, Reason, Trip, TripLog, Twins,
};
use proptest::prelude::*;

use super::scene::as_of;

fn bare(placed: Vec<Placed>) -> Vec<Trip> {
    placed.into_iter().map(|p| p.trip).collect()
}

fn instant() -> impl Strategy<Value = Option<DateTime<Utc>>> {
    proptest::option::of((0i64..4_102_444_800).prop_map(|s| DateTime::from_timestamp(s, 0).expect("a time")))
}

fn maybe(low: f64, high: f64) -> impl Strategy<Value = Option<f64>> {
    proptest::option::of(low..high)
}

fn word() -> impl Strategy<Value = String> {
    "[a-z0-9][a-z0-9-]{0,12}"
}

fn fish() -> impl Strategy<Value = Catch> {
    (
        word(),
        0u32..1000,
        any::<bool>(),
        maybe(0.05, 2.0),
        maybe(0.0, 200.0),
    )
        .prop_map(|(species, count, released, length_m, depth_m)| Catch {
            species: SpeciesId::new(species),
            count,
            released: released.then_some(count / 2),
            length_m,
            depth_m,
        })
}

fn leg() -> impl Strategy<Value = Leg> {
    let place = (word(), proptest::option::of(word()), instant(), 0.001..24.0f64);
    let how = (
        proptest::option::of(1u32..20),
        maybe(0.0, 300.0),
        maybe(0.0, 3.0),
        maybe(0.0, 3.0),
        maybe(0.0, 360.0),
    );
    let why = (proptest::option::of(word()), 0usize..5, 0usize..5);
    let catches = proptest::collection::vec(fish(), 0..4);
    (place, how, why, any::<bool>(), catches).prop_map(
        |((zone, stretch, start, duration_h), how, why, known, catches)| Leg {
            stretch,
            start,
            rods: how.0,
            depth_m: how.1,
            speed_m_s: how.2,
            drift_m_s: how.3,
            drift_deg: how.4,
            presentation: why.0,
            reason: [Reason::Forecast, Reason::Report, Reason::Habit, Reason::Scouting]
                .get(why.1)
                .copied(),
            light: [Light::Dawn, Light::Day, Light::Dusk, Light::Night]
                .get(why.2)
                .copied(),
            catch_known: known || !catches.is_empty(),
            catches,
            ..Leg::of(ZoneId::new(zone), duration_h)
        },
    )
}

fn mark() -> impl Strategy<Value = Mark> {
    (
        word(),
        instant(),
        any::<bool>(),
        0.0..200.0f64,
        proptest::option::of(1u32..90),
    )
        .prop_map(|(zone, time, bait, depth_m, count)| Mark {
            zone: ZoneId::new(zone),
            time,
            kind: if bait { MarkKind::Bait } else { MarkKind::Single },
            depth_m,
            count,
        })
}

fn reading() -> impl Strategy<Value = Reading> {
    let values = (
        maybe(-1.0, 45.0),
        maybe(0.01, 5.0),
        maybe(0.0, 20.0),
        maybe(0.01, 5.0),
        maybe(0.1, 20.0),
    );
    (word(), instant(), 0usize..4, 0.0..200.0f64, values).prop_map(|(zone, time, with, depth_m, values)| {
        Reading {
            zone: ZoneId::new(zone),
            time,
            instrument: [
                Instrument::Surface,
                Instrument::Cast,
                Instrument::Probe,
                Instrument::Disc,
            ][with],
            depth_m,
            temp_degc: values.0,
            temp_error_degc: values.1,
            oxygen_mg_l: values.2,
            oxygen_error_mg_l: values.3,
            secchi_m: values.4,
        }
    })
}

/// A note of anything: formulas, quotes, line breaks, letters of all scripts.
fn note() -> impl Strategy<Value = Option<String>> {
    proptest::option::of(prop_oneof!["[=+@\\-'\t\r\n\", a-z]{1,20}", "\\PC{1,40}"])
}

fn trip() -> impl Strategy<Value = Trip> {
    let parts = (
        proptest::collection::vec(leg(), 0..4),
        proptest::collection::vec(mark(), 0..3),
        proptest::collection::vec(reading(), 0..3),
    );
    (0i32..20_000, 0usize..4, note(), parts).prop_map(|(day, origin, note, (legs, marks, readings))| {
        let date =
            NaiveDate::from_ymd_opt(1990, 1, 1).expect("a day") + chrono::Duration::days(i64::from(day));
        let origin = [Origin::Told, Origin::Table, Origin::Gpx, Origin::Kml][origin];
        Trip {
            date,
            origin,
            note,
            legs,
            marks,
            readings,
        }
        .tidied()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn every_form_gives_back_what_it_was_given(trips in proptest::collection::vec(trip(), 0..5)) {
        prop_assert_eq!(&bare(read_trips_csv(trips_csv(&trips).as_bytes()).unwrap()), &trips);
        prop_assert_eq!(&bare(read_trips_json(trips_json(&trips).as_bytes()).unwrap()), &trips);
        prop_assert_eq!(&bare(trips_of_parquet(&trips_parquet(&trips).unwrap()).unwrap()), &trips);
        // And once tidied, a trip stays as it is.
        for trip in &trips {
            prop_assert_eq!(&trip.clone().tidied(), trip);
        }
    }

    #[test]
    fn no_cell_of_the_table_begins_as_a_formula(trip in trip()) {
        let csv = trips_csv(std::slice::from_ref(&trip));
        let mut reader = csv::ReaderBuilder::new().has_headers(true).flexible(true).from_reader(csv.as_bytes());
        for record in reader.records() {
            for cell in record.unwrap().iter() {
                // Numbers below zero are numbers.
                prop_assert!(!cell.starts_with(['=', '+', '@', '\t', '\r']), "{:?}", cell);
                prop_assert!(!cell.starts_with('-') || cell.parse::<f64>().is_ok(), "{:?}", cell);
            }
        }
    }

    #[test]
    fn a_table_cut_anywhere_is_refused(trip in trip(), at in 0.0..1.0f64) {
        let whole = trips_csv(&[trip]);
        let mut cut = (whole.len() as f64 * at) as usize;
        while !whole.is_char_boundary(cut) {
            cut -= 1;
        }
        // The last line break alone carries nothing.
        prop_assume!(cut + 1 < whole.len());
        let cut = &whole[..cut];
        // The count at the end may lose a digit and still be a number, which then does not fit.
        prop_assert!(read_trips_csv(cut.as_bytes()).is_err(), "{}", cut);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    #[test]
    fn the_database_gives_back_what_it_was_given(trips in proptest::collection::vec(trip(), 1..4)) {
        // What the check lets through; the tables refuse what it would not.
        let folder = tempfile::tempdir().unwrap();
        let mut log = TripLog::open(folder.path()).unwrap();
        let numbers = log.add(&trips, Twins::Add, as_of()).unwrap().numbers;
        drop(log);
        let log = TripLog::open(folder.path()).unwrap();
        for (number, trip) in numbers.iter().zip(&trips) {
            prop_assert_eq!(&log.version(*number, None).unwrap().trip, trip);
        }
    }
}
