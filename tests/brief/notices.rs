//! Notices in a brief: read off the morning, told in every face, not known where a feed is missing.

use std::path::Path;

use chrono::NaiveDate;
use chrono_tz::America::Los_Angeles;
use plungeline::faces::{Detail, Ink, Reader, Units, render_html, render_markdown, render_text};
use plungeline::lake::{Lake, ZoneId, read_lake_file};
use plungeline::notices::{Lack, NoticeFigure, NoticeReport, NoticeState, Reading};
use plungeline::plan::{RampDay, RampOutlook, ramp_chance};
use plungeline::reports::{Brief, Lacking, notice_readings};
use plungeline::sources::service_rules;

use super::demo::{MORNINGS, brief};
use crate::house::source::root;

fn harrow_gap() -> Lake {
    let file = root().join(Path::new("config/lakes/harrow-gap.toml"));
    read_lake_file(&file, &service_rules()).expect("a sound lake")
}

fn october() -> Brief {
    serde_json::from_value(brief(MORNINGS[1])).expect("a brief")
}

fn january() -> Brief {
    serde_json::from_value(brief(MORNINGS[2])).expect("a brief")
}

fn reading(lake: &Lake, brief: &Brief, id: &str) -> Reading {
    let readings = notice_readings(lake, brief, &|_, _| None);
    let found = readings.into_iter().find(|(notice, _)| notice.id == id);
    found.expect("a notice of the lake file").1
}

#[test]
fn the_january_morning_tells_the_kings_and_says_that_no_turnover_outlook_was_made() {
    let brief = january();
    let of = |id: &str| -> &NoticeReport {
        let found = brief.notices.iter().find(|notice| notice.id == id);
        found.expect("a notice")
    };
    // The best depth of the kings stands in the same brief; 40 ft is 12.192 m.
    let best_m = brief
        .whereabouts
        .iter()
        .find(|(id, _)| id.as_str() == "landlocked-chinook");
    let best_m = best_m
        .and_then(|(_, call)| call.band_best_m)
        .expect("a best depth");
    assert!(best_m <= 12.192, "{best_m}");
    assert_eq!(
        of("kings-shallow").figure,
        Some(NoticeFigure::Depth { depth_m: best_m })
    );
    assert_eq!(of("kings-shallow").state, NoticeState::Fired { already: true });
    let lack = Lack::TurnoverOutlook;
    assert_eq!(of("turnover-near").state, NoticeState::NotKnown { lack });
    assert_eq!(of("dam-road-out").state, NoticeState::Quiet);
    assert_eq!(of("sorrel-pulse").state, NoticeState::Quiet);
}

#[test]
fn a_band_that_is_nowhere_within_the_limits_tells_no_depth() {
    // The generator's October lake has 19.9 degC down to 20 m and 18.6 at 30 m (docs/demonstration-lake.md, section 7), and the kings'
    // limit is 18 degC (config/species): of the arm, which is not much deeper, no depth suits, however shallow its best lies.
    let (lake, mut brief) = (harrow_gap(), october());
    assert_eq!(
        reading(&lake, &brief, "kings-shallow"),
        Reading::NotKnown(Lack::OutsideLimits)
    );
    let found = brief
        .whereabouts
        .iter_mut()
        .find(|(id, _)| id.as_str() == "landlocked-chinook");
    let call = found.expect("kings").1;
    assert_eq!(call.within_limits.as_deref(), Some(&[][..]));
    // Limits that are not known do not count against it.
    call.within_limits = None;
    let depth_m = call.band_best_m.expect("a best depth");
    let figure = NoticeFigure::Depth { depth_m };
    assert_eq!(
        reading(&lake, &brief, "kings-shallow"),
        Reading::Known { figure, over: false }
    );
}

#[test]
fn an_outlook_of_the_day_answers_the_notice_of_the_turnover_and_a_lake_that_has_mixed_is_past_it() {
    let (lake, brief) = (harrow_gap(), october());
    let today = NaiveDate::from_ymd_opt(2025, 10, 9).expect("a day");
    let with = |now_prob: f64, later_prob: f64| {
        let curve = move |_: &ZoneId, day: NaiveDate| Some(if day > today { later_prob } else { now_prob });
        let readings = notice_readings(&lake, &brief, &curve);
        let found = readings
            .into_iter()
            .find(|(notice, _)| notice.id == "turnover-near");
        found.expect("a notice of the lake file").1
    };
    let known = |chance_prob: f64, over: bool| Reading::Known {
        figure: NoticeFigure::Chance {
            chance_prob,
            date: None,
        },
        over,
    };
    // The lake file wants 50 % within 7 days.
    assert_eq!(with(0.1, 0.6), known(0.6, false));
    assert_eq!(with(0.5, 0.9), known(0.9, true));
}

#[test]
fn every_face_tells_what_is_new_and_none_calls_it_by_the_name_of_an_official_product() {
    let brief = january();
    for units in [Units::Us, Units::Metric] {
        let reader = Reader::new(units, Los_Angeles);
        let text = render_text(&brief, &reader, Ink { colour: false }, Detail::Short);
        let block = text.split("\nNOTICES").nth(1).expect("the block");
        let block = block.split("\nWHERE THEY ARE").next().expect("what follows");
        let depth = if units == Units::Us {
            "at most 40 ft"
        } else {
            "at most 12.2 m"
        };
        let flat = block.split_whitespace().collect::<Vec<_>>().join(" ");
        for wanted in [
            "NEW",
            depth,
            "The shallow rigs.",
            "NOT KNOWN turnover of the main body (no outlook of it to rely on was made today: `plungeline turnover` makes one in its season).",
        ] {
            assert!(flat.contains(wanted), "{wanted}: {block}");
        }
        for official in ["watch", "warning", "advisory"] {
            assert!(!flat.to_lowercase().contains(official), "{block}");
        }
        for page in [
            render_html(&brief, &reader),
            render_markdown(&brief, &reader, Detail::Short),
        ] {
            assert!(page.contains("The shallow rigs"), "{page}");
        }
    }
}

#[test]
fn a_figure_that_rests_on_a_missing_feed_is_not_known() {
    let lake = harrow_gap();
    let sound = october();
    assert!(matches!(
        reading(&lake, &sound, "dam-road-out"),
        Reading::Known { .. }
    ));
    let mut late = sound.clone();
    late.trust.lacking.push(Lacking::Level { age_h: Some(90.0) });
    assert_eq!(
        reading(&lake, &late, "dam-road-out"),
        Reading::NotKnown(Lack::Level)
    );
    assert_eq!(
        reading(&lake, &late, "kings-shallow"),
        Reading::NotKnown(Lack::Depth)
    );
    let mut dry = sound.clone();
    dry.inflows.clear();
    assert_eq!(
        reading(&lake, &dry, "sorrel-pulse"),
        Reading::NotKnown(Lack::Inflow)
    );
    let mut cold = sound.clone();
    cold.water.zones.clear();
    assert_eq!(
        reading(&lake, &cold, "main-cools"),
        Reading::NotKnown(Lack::Water)
    );
    let mut blind = sound;
    blind.ramps.iter_mut().for_each(|ramp| ramp.outlook = None);
    assert_eq!(
        reading(&lake, &blind, "dam-road-out"),
        Reading::NotKnown(Lack::LevelOutlook)
    );
}

#[test]
fn a_ramp_is_judged_by_the_chance_of_the_days_ahead() {
    let lake = harrow_gap();
    let mut brief = october();
    let mut put = |id: &str, below: &[f64]| {
        let first = chrono::NaiveDate::from_ymd_opt(2025, 10, 9).expect("a day");
        let days = (0..).zip(below).map(|(i, &below_prob)| RampDay {
            date: first + chrono::Days::new(i),
            below_prob,
            chance: ramp_chance(below_prob),
        });
        let ramp = brief.ramps.iter_mut().find(|ramp| ramp.id == id).expect("a ramp");
        ramp.outlook = Some(RampOutlook {
            days: days.collect(),
            turn: None,
        });
    };
    // Out with a chance of 0.6 on the tenth day after the first; the eleventh does not count.
    put(
        "dam-road",
        &[0.0, 0.0, 0.0, 0.0, 0.0, 0.1, 0.1, 0.2, 0.3, 0.4, 0.6, 0.9],
    );
    put(
        "fiddler-cove",
        &[0.9, 0.9, 0.9, 0.9, 0.9, 0.9, 0.8, 0.75, 0.75, 0.75, 0.75, 0.1],
    );
    let date = chrono::NaiveDate::from_ymd_opt(2025, 10, 19);
    let figure = NoticeFigure::Chance {
        chance_prob: 0.6,
        date,
    };
    assert_eq!(
        reading(&lake, &brief, "dam-road-out"),
        Reading::Known { figure, over: false }
    );
    let back = NoticeFigure::Chance {
        chance_prob: 0.25,
        date: None,
    };
    assert_eq!(
        reading(&lake, &brief, "fiddler-cove-back"),
        Reading::Known {
            figure: back,
            over: false
        }
    );
}
