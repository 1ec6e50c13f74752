//! Units and days against exact definitions and the time zone database.

use chrono::{DateTime, FixedOffset, NaiveDate, TimeZone, Utc};
use chrono_tz::America::Los_Angeles;
use plungeline::clock::LakeClock;
use plungeline::units::{
    KG_PER_LB, M_PER_FT, M_PER_MI, M_PER_US_SURVEY_FT, M_S_PER_KT, M_S_PER_MPH, M2_PER_ACRE, M3_PER_ACRE_FT,
    M3S_PER_CFS, S_PER_DAY, degc_from_degf,
};

use crate::published::row;

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

#[test]
fn volumes_and_flows_are_exact() {
    row("S-U-acft").assert(&[M3_PER_ACRE_FT]);
    row("S-U-cfs").assert(&[M3S_PER_CFS]);
    row("S-U-cfsd").assert(&[M3S_PER_CFS * S_PER_DAY / M3_PER_ACRE_FT]);
}

#[test]
fn the_two_feet_differ_by_two_millimetres_at_three_thousand() {
    row("S-U-usft").assert(&[3000.0 * M_PER_US_SURVEY_FT - 3000.0 * M_PER_FT]);
}

#[test]
fn speeds_are_exact() {
    row("S-U-kt").assert(&[21.0 * M_S_PER_KT]);
    row("S-U-mph").assert(&[3.5 * M_S_PER_MPH]);
}

#[test]
fn every_factor_of_the_physics_rows_is_its_definition() {
    // The rows of mercury and the langley are of units that no source of the program gives.
    for (id, factor) in [
        ("P10-U-FT", M_PER_FT),
        ("P10-U-SFT", M_PER_US_SURVEY_FT),
        ("P10-U-MI", M_PER_MI),
        ("P10-U-MPH", M_S_PER_MPH),
        ("P10-U-KN", M_S_PER_KT),
        ("P10-U-CFS", M3S_PER_CFS),
        ("P10-U-AC", M2_PER_ACRE),
        ("P10-U-AF", M3_PER_ACRE_FT),
        ("P10-U-LB", KG_PER_LB),
        ("P10-U-CFSD", M3S_PER_CFS * S_PER_DAY / M3_PER_ACRE_FT),
        ("P10-U-F", degc_from_degf(54.0)),
    ] {
        row(id).assert(&[factor]);
    }
}

#[test]
fn a_civil_day_has_23_or_25_hours_when_clocks_change() {
    let clock = LakeClock::new(Los_Angeles);
    row("S-T-spring").assert(&[clock.civil_day_length_h(day("2026-03-08"))]);
    row("S-T-fall").assert(&[clock.civil_day_length_h(day("2026-11-01"))]);
}

#[test]
fn a_standard_day_begins_an_hour_after_the_civil_day_in_summer() {
    let clock = LakeClock::new(Los_Angeles);
    let begins = |id: &str, found: DateTime<Utc>| {
        assert_eq!(
            found.to_rfc3339_opts(chrono::SecondsFormat::Secs, true),
            row(id).expected,
            "{id}"
        );
    };
    begins("S-T-lst", clock.standard_day_start(day("2026-07-01")));
    begins("S-T-civ", clock.civil_day_start(day("2026-07-01")));
}

#[test]
fn every_instant_lies_in_the_standard_day_that_holds_it_through_both_clock_changes() {
    let clock = LakeClock::new(Los_Angeles);
    let pacific_standard = FixedOffset::west_opt(8 * 3600).unwrap();
    let mut instant = Utc.with_ymd_and_hms(2025, 10, 30, 0, 0, 0).unwrap();
    while instant < Utc.with_ymd_and_hms(2026, 3, 12, 0, 0, 0).unwrap() {
        let date = clock.standard_day(instant);
        // The zone's standard offset is -8 h all year (zone database); nothing else may enter.
        assert_eq!(date, instant.with_timezone(&pacific_standard).date_naive());
        assert!(clock.standard_day_start(date) <= instant);
        assert!(instant < clock.standard_day_start(date.succ_opt().unwrap()));
        instant += chrono::Duration::minutes(30);
    }
}
