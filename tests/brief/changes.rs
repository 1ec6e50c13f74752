//! What changed between two mornings of the demonstration lake, by value and in words.

use plungeline::faces::{Detail, Ink, Reader, Units, render_text};
use plungeline::plan::{CautionLevel, Hazard};
use plungeline::reports::changes::changes;
use plungeline::reports::{Brief, Changes, FigureChange};

use super::demo::run;

/// The brief of a clock as a value; one without a forecast ends with status 3 and is a brief all the same.
fn at(clock: &str) -> Brief {
    let output = run(&["brief", "--demo", "--as-of", clock, "--format", "json"]);
    serde_json::from_slice(&output.stdout).expect("a brief")
}

/// From the week before the pulse of March to two days after its peak.
fn march() -> (Brief, Brief, Changes) {
    let (before, now) = (at("2026-03-05T04:30"), at("2026-03-12"));
    let found = changes(&before, &now);
    (before, now, found)
}

#[test]
fn level_inflows_surface_and_cautions_are_told_by_value() {
    let (before, now, found) = march();
    assert_eq!(found.since, before.as_of);
    let level_m = |b: &Brief| b.pool.as_ref().map(|p| p.elevation_m);
    assert!(found.figures.contains(&FigureChange::Level {
        before_m: level_m(&before),
        now_m: level_m(&now),
    }));
    for inflow in &now.inflows {
        let was = before.inflows.iter().find(|b| b.inflow == inflow.inflow).unwrap();
        let told = found.figures.iter().find_map(|f| match f {
            FigureChange::Inflow {
                inflow: id,
                before_m3s,
                now_m3s,
            } if id == &inflow.inflow => Some((*before_m3s, *now_m3s)),
            _ => None,
        });
        let moved = (was.discharge_m3s - inflow.discharge_m3s).abs() >= 0.05 * was.discharge_m3s;
        let wanted = moved.then_some((Some(was.discharge_m3s), Some(inflow.discharge_m3s)));
        assert_eq!(told, wanted, "{}", inflow.inflow);
    }
    // The fifth has no forecast in the demonstration, so its wind is not known; the twelfth has one, and an official advisory.
    let wind = found.cautions.iter().find(|c| c.hazard == Hazard::Wind);
    let wind = wind.map(|c| (c.before, c.now));
    assert_eq!(
        wind,
        Some((Some(CautionLevel::NotKnown), Some(CautionLevel::Severe)))
    );
    let cold = |b: &Brief| {
        b.cautions
            .iter()
            .find(|c| c.hazard == Hazard::ColdWater)
            .map(|c| c.level)
    };
    assert_eq!(cold(&before), cold(&now), "as severe as before");
    assert!(found.cautions.iter().all(|c| c.hazard != Hazard::ColdWater));
}

#[test]
fn a_share_that_moved_by_more_than_ten_points_names_the_pulse_that_moved_it() {
    let (before, now, found) = march();
    let mut large = 0;
    for change in &found.figures {
        let FigureChange::Share {
            before_frac,
            now_frac,
            causes,
            ..
        } = change
        else {
            continue;
        };
        let moved = (now_frac - before_frac).abs();
        assert_eq!(moved > 0.10, !causes.is_empty(), "{change:?}");
        large += usize::from(moved > 0.10);
        // Parts are of the sign of the change, the largest first.
        assert!(
            causes
                .iter()
                .all(|c| c.part_frac * (now_frac - before_frac) > 0.0)
        );
        assert!(
            causes
                .windows(2)
                .all(|w| w[0].part_frac.abs() >= w[1].part_frac.abs())
        );
    }
    assert!(
        large > 0,
        "the flood of March moves some share by more than 10 points: {found:?}"
    );
    let rainbow_sorrel = found.figures.iter().find_map(|f| match f {
        FigureChange::Share {
            species,
            zone,
            causes,
            ..
        } if species.as_str() == "rainbow-trout" && zone.as_str() == "sorrel" => Some(causes),
        _ => None,
    });
    let first = &rainbow_sorrel.expect("it moved")[0];
    assert_eq!((first.rule.as_str(), first.zone.as_str()), ("R4", "sorrel"));
    let peak = first
        .inputs
        .iter()
        .find(|i| i.name == "pulse_peak_ratio")
        .expect("its input");
    let ratio = |b: &Brief| b.inflows[0].pulse.as_ref().map(|p| p.peak_ratio);
    assert_eq!((peak.before, peak.now), (ratio(&before), ratio(&now)));
    assert!(peak.now > peak.before);
}

#[test]
fn the_changes_are_told_in_words_with_their_causes() {
    let (_, mut now, found) = march();
    now.changes = Some(found);
    let reader = Reader::new(Units::Us, chrono_tz::America::Los_Angeles);
    let text = render_text(&now, &reader, Ink { colour: false }, Detail::Whole);
    let said = text.split("WHAT CHANGED").nth(1).expect("the part");
    let said = said.split("CONDITIONS").next().unwrap();
    let flat = said.split_whitespace().collect::<Vec<_>>().join(" ");
    for wanted in [
        "since the brief of Thu 5 Mar",
        "level: 8",
        "flow of Sorrel River: ",
        "caution on wind: not known to severe",
        "moved by spring run on a pulse of the river in the Sorrel Arm (inflow peaked at 3.9 times its base flow",
        "before: inflow peaked at 2.4 times its base flow",
    ] {
        assert!(flat.contains(wanted), "{wanted}\n{said}");
    }
}

#[test]
fn what_came_and_what_went_is_told_and_two_equal_mornings_differ_in_nothing() {
    let now = at("2026-03-12");
    let mut before = now.clone();
    let none = changes(&before, &now);
    assert!(none.figures.is_empty() && none.ramps.is_empty() && none.cautions.is_empty());
    before.pool = None;
    before.inflows.remove(0);
    before.ramps[0].usable = None;
    let found = changes(&before, &now);
    let level_m = now.pool.as_ref().map(|p| p.elevation_m);
    assert!(found.figures.contains(&FigureChange::Level {
        before_m: None,
        now_m: level_m
    }));
    let gone = changes(&now, &before);
    assert!(gone.figures.contains(&FigureChange::Level {
        before_m: level_m,
        now_m: None
    }));
    assert!(
        gone.figures
            .iter()
            .any(|f| matches!(f, FigureChange::Inflow { now_m3s: None, .. }))
    );
    assert_eq!(found.ramps.len(), 1);
    assert_eq!((found.ramps[0].before, found.ramps[0].now), (None, Some(true)));
}
