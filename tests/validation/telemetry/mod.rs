//! Tagged fish of a recorded lake: what another program counts in the same tables, and that the rules are asked as a brief asks them.

#[allow(dead_code, reason = "shared with the example")]
mod areas;
#[allow(dead_code, reason = "shared with the example")]
mod estimates;
#[allow(dead_code, reason = "shared with the example")]
mod record;
#[allow(dead_code, reason = "shared with the example")]
mod rules;
#[allow(dead_code, reason = "shared with the example")]
mod tracks;

use chrono::NaiveDate;
use plungeline::lake::{Lake, read_lake_file};
use plungeline::skill::telemetry::{FishDays, HoldRule, MONTHS, held_days};
use plungeline::sources::service_rules;
use plungeline::species::builtin;
use plungeline::whereabouts::{CallOptions, call_species};
use serde::Deserialize;

use super::data;
use crate::house::source::root;
use areas::{AREAS, GROUPS, groups};
use estimates::{SETTLE_DAYS, SETTLE_WEEKS, from_the_start, hidden, rule};
use record::{Record, RecordError, read_record};
use rules::{DRAWS, SEED, Variant, conditions, drawn_shares, rule_months, water};
use tracks::{Choices, Telemetry, telemetry};

/// What `tests/outside/telemetry/shares.py` (pandas 3.1.1, numpy 2.4.6) wrote of the recorded tables.
#[derive(Debug, Deserialize)]
struct Outside {
    rainbows: usize,
    bull_trout: usize,
    stations: usize,
    sections: usize,
    detection_hours: usize,
    tagged: usize,
    heard_fish: usize,
    rainbow_hours: usize,
    unplaced_hours: usize,
    still: Vec<String>,
    receiver_days: Vec<Vec<f64>>,
    histories: usize,
    fish_weeks: usize,
    heard_weeks: usize,
    heard: OutsideDays,
    held_7: OutsideDays,
    held_28: OutsideDays,
    held_28_settled: OutsideDays,
    hidden: OutsideHidden,
}

#[derive(Debug, Deserialize)]
struct OutsideDays {
    fish_days: Vec<Vec<f64>>,
    unplaced_days: Vec<f64>,
}

#[derive(Debug, Deserialize)]
struct OutsideHidden {
    log_likelihood: f64,
    rate_per_receiver_week: Vec<f64>,
    fish_weeks: Vec<Vec<f64>>,
    gone_weeks: Vec<f64>,
}

fn outside() -> Outside {
    serde_json::from_str(include_str!("../../outside/telemetry/shares.json")).expect("the stored figures")
}

fn recorded() -> Option<Record> {
    let folder = data("fish/kootenay-trout")?;
    Some(read_record(&folder).unwrap_or_else(|error| panic!("{error}")))
}

fn rainbows(record: &Record) -> Telemetry {
    telemetry(record, "Rainbow Trout", Choices::default()).unwrap_or_else(|error| panic!("{error}"))
}

fn lake() -> Lake {
    let file = root().join("tests/validation/telemetry/lake.toml");
    read_lake_file(&file, &service_rules()).unwrap_or_else(|error| panic!("{error}: {error:?}"))
}

fn total(of: &Telemetry, rule: HoldRule) -> FishDays {
    let mut all = FishDays::none(AREAS.len());
    of.tracks
        .iter()
        .for_each(|track| all.add(&held_days(track, AREAS.len(), rule), 1.0));
    all
}

#[test]
fn the_tables_hold_what_another_program_counts_in_them() {
    let Some(record) = recorded() else { return };
    let (fish, outside) = (rainbows(&record), outside());
    // 153 rainbow and 92 bull trout, 28 stations, 33 sections, 204 802 rows of detections: also the description of the data.
    assert_eq!((outside.rainbows, outside.bull_trout), (153, 92));
    assert_eq!(
        (outside.stations, outside.sections, outside.detection_hours),
        (28, 33, 204_802)
    );
    assert_eq!(fish.captured, outside.rainbows);
    assert_eq!(record.captures.len(), outside.rainbows + outside.bull_trout);
    assert_eq!(
        (record.stations.len(), record.sections.len()),
        (outside.stations, outside.sections)
    );
    assert_eq!(record.detections.len(), outside.detection_hours);
    assert_eq!(
        (fish.tagged.len(), fish.heard),
        (outside.tagged, outside.heard_fish)
    );
    assert_eq!(
        (fish.receiver_hours, fish.unplaced_hours),
        (outside.rainbow_hours, outside.unplaced_hours)
    );
    assert_eq!(fish.still, outside.still);
    assert_eq!(fish.receiver_days, outside.receiver_days);
    assert_eq!(fish.histories.len(), outside.histories);
    let weeks: usize = fish.histories.iter().map(|h| h.heard.len() - 1).sum();
    let heard = fish
        .histories
        .iter()
        .flat_map(|h| &h.heard)
        .filter(|h| h.is_some())
        .count();
    assert_eq!((weeks, heard), (outside.fish_weeks, outside.heard_weeks));
}

#[test]
fn days_by_month_and_area_are_those_that_another_program_counts() {
    let Some(record) = recorded() else { return };
    let (fish, outside) = (rainbows(&record), outside());
    let from = from_the_start(&fish);
    for (gap_days, settle_days, theirs) in [
        (1, 1, &outside.heard),
        (7, 1, &outside.held_7),
        (28, 1, &outside.held_28),
        (28, SETTLE_DAYS, &outside.held_28_settled),
    ] {
        let ours = total(&fish, rule(gap_days, settle_days, from));
        assert_eq!(ours.placed, theirs.fish_days, "{gap_days} {settle_days}");
        assert_eq!(
            ours.unplaced_days, theirs.unplaced_days,
            "{gap_days} {settle_days}"
        );
        for month in 0..MONTHS {
            let shares = groups()
                .into_iter()
                .map(|g| ours.share(month, &g).expect("days in every month"));
            assert!((shares.sum::<f64>() - 1.0).abs() < 1e-12);
        }
    }
}

#[test]
fn hidden_states_of_the_record_are_those_of_another_program() {
    let Some(record) = recorded() else { return };
    let (fish, outside) = (rainbows(&record), outside().hidden);
    let found = hidden(&fish, from_the_start(&fish), 0).unwrap_or_else(|error| panic!("{error}"));
    assert!(found.fit.converged);
    // Both stop when a round changes the logarithm by a part in 1e8 (5e-5 of 5059); one of them one round later.
    assert!((found.fit.log_likelihood - outside.log_likelihood).abs() < 1e-2);
    for month in 0..MONTHS {
        let (ours, theirs) = (&found.days.alive.placed[month], &outside.fish_weeks[month]);
        let sum: f64 = theirs.iter().sum();
        for (area, weeks) in theirs.iter().enumerate() {
            let share = found
                .days
                .alive
                .share(month, &[area])
                .expect("days in every month");
            assert!(
                (share - weeks / sum).abs() < 1e-4,
                "{month} {area}: {share}, {}",
                weeks / sum
            );
        }
        assert!((ours.iter().sum::<f64>() / 7.0 - sum).abs() < 0.05);
        assert!((found.days.gone_days[month] / 7.0 - outside.gone_weeks[month]).abs() < 0.05);
    }
    // Where nearly every fish in hearing is heard (0.9998 in the South Arm) the likelihood is flat in the rate, and both stop on the way.
    for area in [0, 1, 2, 4] {
        let rate = 7.0 * found.fit.model.heard_per_day[area];
        assert!(
            (rate / outside.rate_per_receiver_week[area] - 1.0).abs() < 0.01,
            "{area}: {rate}"
        );
    }
    assert_eq!(SETTLE_WEEKS, 9, "the script has the same");
}

#[test]
fn days_can_be_counted_from_a_later_day_on() {
    let Some(record) = recorded() else { return };
    let fish = rainbows(&record);
    let day = |text: &str| text.parse::<NaiveDate>().expect("a day");
    let (all, early) = (from_the_start(&fish), day("2010-07-01"));
    let until = Choices {
        until: Some(day("2010-06-30")),
        ..Choices::default()
    };
    let before = telemetry(&record, "Rainbow Trout", until).unwrap_or_else(|error| panic!("{error}"));
    // Days with a hearing alone: what is held across the cut is known on one side only.
    let sum = |days: FishDays| (0..MONTHS).map(|m| days.placed_days(m)).sum::<f64>();
    let whole = sum(total(&fish, rule(1, 1, all)));
    let parts = sum(total(&before, rule(1, 1, all))) + sum(total(&fish, rule(1, 1, early)));
    assert_eq!(whole, parts);
}

#[test]
fn the_rules_are_asked_as_a_brief_asks_them() {
    let (lake, species) = (lake(), builtin("rainbow-trout").expect("it is built in"));
    for date in ["2010-01-15", "2010-05-15", "2010-08-15"] {
        let date: NaiveDate = date.parse().expect("a day");
        let options = CallOptions {
            draws: DRAWS,
            seed: SEED,
            date,
        };
        let variant = Variant::default();
        let call = call_species(
            &lake,
            &species,
            &conditions(&lake, date),
            &water(&lake, variant, date),
            &options,
        );
        let drawn = drawn_shares(&lake, &species, variant, date);
        let others = lake.zones.iter().filter(|z| z.id != lake.main_body().id);
        for (zone, draws) in std::iter::once(lake.main_body()).chain(others).zip(&drawn) {
            let mean = draws.iter().sum::<f64>() / draws.len() as f64;
            assert!(
                (call.zones[&zone.id].share - mean).abs() < 1e-12,
                "{date} {}",
                zone.id
            );
        }
    }
    for month in rule_months(&lake, &species, Variant::default()) {
        assert!((month.share.iter().sum::<f64>() - 1.0).abs() < 1e-9);
        assert_eq!(month.interval.len(), GROUPS.len());
    }
}

#[test]
fn a_record_that_cannot_be_read_says_why() {
    let folder = tempfile::tempdir().expect("a folder");
    let said = |error: RecordError| error.to_string();
    let empty = said(read_record(folder.path()).unwrap_err());
    assert!(
        empty.contains("table capture") && empty.contains("found 0 files"),
        "{empty}"
    );
    let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).expect("a file");
    write(
        "capture.csv",
        "Capture,DateTimeCapture\nF001,2008-05-15T16:30:00Z\n",
    );
    let short = said(read_record(folder.path()).unwrap_err());
    assert!(
        short.contains("capture.csv") && short.contains("missing field"),
        "{short}"
    );
    let header = "Capture,DateTimeCapture,SectionCapture,Species,DateTimeTagExpire\n";
    write(
        "capture.csv",
        &format!("{header}F001,15 May 2008,S16,Rainbow Trout,2009-08-13T16:30:00Z\n"),
    );
    let date = said(read_record(folder.path()).unwrap_err());
    assert!(date.contains("line: 2") || date.contains("line 2"), "{date}");
    write(
        "capture.csv",
        &format!("{header}F001,2008-05-15T16:30:00Z,S99,Rainbow Trout,2009-08-13T16:30:00Z\n"),
    );
    write("recapture.csv", "DateTimeRecapture,Capture,Released\n");
    write(
        "deployment.csv",
        "Station,Receiver,DateTimeReceiverIn,DateTimeReceiverOut\n",
    );
    write(
        "detection_to_2011.csv",
        "DateTimeDetection,Capture,Receiver\n2008-05-17T13:00:00Z,F001,8248\n",
    );
    write("section.csv", "Section,Habitat\nS16,Lentic\n");
    write("station.csv", "Station,Section\nWoodbury Point,S16\n");
    let record = read_record(folder.path()).unwrap_or_else(|error| panic!("{error}"));
    let lost = said(telemetry(&record, "Rainbow Trout", Choices::default()).unwrap_err());
    assert!(lost.contains("S99") && lost.contains("not in section"), "{lost}");
    write("detection.csv", "DateTimeDetection,Capture,Receiver\n");
    let two = said(read_record(folder.path()).unwrap_err());
    assert!(two.contains("found 2 files"), "{two}");
}
