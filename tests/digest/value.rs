//! What a digest consists of.

use chrono::Days;
use plungeline::conditions::Held;
use plungeline::faces::digest::{DIGEST_WIDTH, digest_words, render_digest_text};
use plungeline::faces::json::render_digest_schema;
use plungeline::faces::{Reader, Units};
use plungeline::reports::Digest;

use super::{digest, made};
use crate::brief::demo::brief;
use crate::house::source::{document, root};

fn reader(units: Units) -> Reader {
    Reader::new(units, chrono_tz::America::Los_Angeles)
}

#[test]
fn the_week_ahead_is_seven_days_and_begins_with_the_brief() {
    let digest = digest();
    // 9 October 2025 is the Thursday of week 41 by ISO 8601 (a calendar).
    assert_eq!((digest.week.year, digest.week.week), (2025, 41));
    let first = digest.ahead[0].date;
    let wanted: Vec<_> = (0..7).map(|d| first + Days::new(d)).collect();
    let found: Vec<_> = digest.ahead.iter().map(|d| d.date).collect();
    assert_eq!(found, wanted);
    let issued = brief("2025-10-09");
    for call in &digest.ahead[0].calls {
        for (zone, share) in &call.zones {
            let of_brief = &issued["whereabouts"][call.species.as_str()]["zones"][zone.as_str()]["share"];
            assert!((of_brief.as_f64().unwrap() - share.share).abs() < 1e-12, "{zone}");
        }
    }
}

#[test]
fn shares_of_every_day_sum_to_one_and_move_with_the_water() {
    let digest = digest();
    for day in &digest.ahead {
        for call in &day.calls {
            let sum: f64 = call.zones.values().map(|z| z.share).sum();
            assert!((sum - 1.0).abs() < 1e-9, "{} {}: {sum}", day.date, call.name);
        }
        // Columns, projection and forecast reach sixteen days.
        assert!(
            day.level.is_some() && day.surface.is_some() && day.wind_max_m_s.is_some(),
            "{}",
            day.date
        );
        let still = |held: &Held| {
            matches!(
                held,
                Held::Water | Held::Level | Held::Flow { .. } | Held::RiverTemp { .. }
            )
        };
        assert!(!day.held.iter().any(still), "{}: {:?}", day.date, day.held);
    }
    let of = |day: usize| {
        digest.ahead[day].calls[0]
            .zones
            .values()
            .map(|z| z.share)
            .collect::<Vec<_>>()
    };
    assert_ne!(of(0), of(6), "a week of cooling moves the shares");
}

#[test]
fn no_rule_is_named_by_its_code() {
    // docs/methods.md has the rules as R1, R2 and so on; who gets a letter does not.
    let text = render_digest_text(&digest_words(digest(), &reader(Units::Us)));
    let is_code = |word: &&str| {
        let digits = word.strip_prefix('R').unwrap_or_default();
        !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit())
    };
    let found = text.split(|c: char| !c.is_ascii_alphanumeric()).find(is_code);
    assert_eq!(found, None, "{text}");
    assert!(
        text.contains("a rule for"),
        "the demonstration lacks turbidity, which a rule asks for"
    );
}

#[test]
fn calm_hours_are_below_the_cautions_and_on_days_of_the_week() {
    for best in &digest().best_hours {
        // 12 kt = 6.17 m/s (config/cautions.toml).
        assert!(best.wind_max_m_s < 12.0 * 1852.0 / 3600.0);
        assert!((best.to - best.from).num_hours() >= 2);
        assert!(
            digest()
                .ahead
                .iter()
                .any(|d| d.hours.from <= best.from && best.to <= d.hours.to)
        );
    }
}

#[test]
fn the_week_behind_ends_with_the_level_that_the_brief_began_with() {
    let week = &digest().behind;
    assert_eq!((week.to - week.from).num_days(), 6);
    assert!(week.levels.len() >= 40, "{}", week.levels.len());
    let level = |date| week.levels.iter().find(|l| l.date == date).map(|l| l.elevation_m);
    let moved_m = level(week.to).unwrap() - level(week.from - Days::new(1)).unwrap();
    let told_m = digest().brief.pool.as_ref().unwrap().change_7d.unwrap().change_m;
    // The same two daily means.
    assert!((moved_m - told_m).abs() < 1e-9, "{moved_m} against {told_m}");
    let since = digest().since.as_ref().expect("the store holds the week");
    assert!(since.made_again, "no brief was issued in a store that is new");
    assert_eq!((digest().brief.as_of - since.changes.since).num_hours(), 7 * 24);
}

#[test]
fn nothing_is_told_of_trips_unless_they_are_shared() {
    assert_eq!(digest().trips, None);
    assert_eq!(digest().record, None);
}

/// The change over a week is told of day means at the head and behind, and of two readings since the brief of then.
#[test]
fn each_change_of_the_level_says_what_it_is_of() {
    let words = digest_words(digest(), &reader(Units::Us));
    let level = |lines: &[(String, String)]| {
        let found = lines.iter().find(|(label, _)| label == "Level");
        found.expect("a level").1.clone()
    };
    for said in [level(&words.glance), level(&words.behind)] {
        assert!(said.contains("by day means"), "{said}");
    }
    let changed = words.changed.iter().find(|line| line.starts_with("Level:"));
    let changed = changed.expect("the level of the demonstration falls");
    assert!(changed.ends_with("by the reading of that hour"), "{changed}");
}

#[test]
fn no_gap_of_a_remade_morning_is_told_as_news() {
    let since = digest().since.as_ref().expect("the store holds the week");
    assert!(since.made_again);
    let unknown = Some(plungeline::plan::CautionLevel::NotKnown);
    assert!(
        since
            .changes
            .cautions
            .iter()
            .all(|change| change.before != unknown)
    );
}

#[test]
fn what_other_commands_have_kept_is_told_of_the_week_alone() {
    // The store of the morning is shared with the tests of other commands: whether they ran before is not known.
    let digest = digest();
    let week = chrono::Duration::days(7);
    let in_week = |at| at <= digest.brief.as_of && digest.brief.as_of - at <= week;
    assert!(digest.notices.iter().all(|notice| in_week(notice.fired_at)));
    assert!(
        digest
            .turnover
            .is_none_or(|t| t.early <= t.median && t.median.is_none_or(|median| median <= t.late))
    );
}

#[test]
fn a_pulse_of_two_days_ago_grows_older_on_the_days_ahead() {
    let digest: Digest = made("2026-03-12");
    assert_eq!(digest.ahead.len(), 7);
    let sorrel = |day: usize| {
        let call = &digest.ahead[day].calls[0];
        call.zones
            .iter()
            .find(|(id, _)| id.as_str().contains("sorrel"))
            .map(|(_, z)| z.share)
            .unwrap()
    };
    assert!((0..7).all(|day| sorrel(day) > 0.0));
    assert_ne!(sorrel(0), sorrel(6));
}

#[test]
fn the_text_begins_with_cautions_and_keeps_to_its_columns() {
    for units in [Units::Us, Units::Metric] {
        let text = render_digest_text(&digest_words(digest(), &reader(units)));
        for line in text.lines().filter(|line| !line.contains("https://")) {
            assert!(line.chars().count() <= DIGEST_WIDTH, "{line:?}");
        }
        let at = |word: &str| {
            text.find(word)
                .unwrap_or_else(|| panic!("no {word:?} in\n{text}"))
        };
        assert!(at("\nCAUTIONS") < at("\nAT A GLANCE") && at("\nAT A GLANCE") < at("\nTHE WEEK AHEAD"));
        assert!(!text.to_lowercase().contains(" safe"), "{text}");
        assert!(text.contains("Local rules, closures and official warnings come before"));
    }
}

#[test]
fn the_committed_schema_is_that_of_the_code() {
    let (file, schema) = (
        "docs/digest.schema.json",
        render_digest_schema().expect("a schema"),
    );
    if std::env::var_os("PLUNGELINE_BLESS").is_some() {
        std::fs::write(root().join(file), &schema).expect("writable");
    }
    assert!(
        document(file) == schema,
        "{file} is not that of the code; PLUNGELINE_BLESS=1 cargo test writes it anew"
    );
}
