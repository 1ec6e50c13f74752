//! Scenes of the plan as an angler reads them: the words of cautions and plan as snapshots without their numbers, and the numbers
//! that make the scene by value.

use std::path::Path;
use std::sync::OnceLock;

use chrono::{DateTime, Utc};
use plungeline::analysis::{MorningSource, morning_water};
use plungeline::archive::analysed::hash_of;
use plungeline::column::{WaterOptions, water_at};
use plungeline::conditions::{Conditions, conditions_at};
use plungeline::faces::text::block::{Block, Detail, compose};
use plungeline::faces::{Reader, Units};
use plungeline::lake::{Lake, SpeciesId, read_lake};
use plungeline::plan::depth::species_depth;
use plungeline::plan::{CautionLevel, Hazard, NoWay};
use plungeline::reports::{Brief, make_brief};
use plungeline::series::{SeriesSet, Store};
use serde_json::Value;

use super::demo::{brief, cache, run};
use super::scene_numbers as numbers;

const M_PER_FT: f64 = 0.3048; // exact, 1959

fn morning(day: &str) -> Brief {
    serde_json::from_value(brief(day)).expect("a brief")
}

/// What the store of the summer morning holds, pulled once.
struct Summer {
    lake: Lake,
    set: SeriesSet,
}

fn summer() -> &'static Summer {
    static SUMMER: OnceLock<Summer> = OnceLock::new();
    SUMMER.get_or_init(|| {
        let folder = cache().join("scenes");
        let text = folder.to_string_lossy();
        let output = run(&["pull", "--demo", "--as-of", "2025-07-24", "--store", &text]);
        assert_eq!(output.status.code(), Some(0));
        let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("config/lakes/harrow-gap.toml");
        let toml = std::fs::read_to_string(&file).expect("the demonstration lake");
        let lake = read_lake(&toml, &file, &plungeline::sources::service_rules()).expect("no faults");
        let store = Store::open(&folder.join("20250724T113000Z"), &lake.id).expect("the store just pulled");
        let at = "2025-07-24T11:30:00Z".parse().expect("a time");
        let mut set = store.load(&lake, at);
        plungeline::quality::flag_set(&mut set, &lake, &plungeline::quality::Thresholds::built_in());
        Summer { lake, set }
    })
}

/// The summer morning with other conditions; its water by the quick model, which takes no time.
fn summer_with(change: impl Fn(&mut Conditions)) -> Brief {
    let Summer { lake, set } = summer();
    let mut conditions = conditions_at(lake, set);
    change(&mut conditions);
    let options = WaterOptions { members: 16, seed: 1 };
    let water = water_at(lake, &conditions, set, &options);
    make_brief(lake, set, (conditions, &water), None).expect("species files")
}

/// Cautions and plan, a line a block.
fn words(brief: &Brief) -> String {
    let reader = Reader::new(Units::Us, chrono_tz::America::Los_Angeles);
    let mut text = String::new();
    let mut wanted = false;
    for block in compose(brief, &reader, Detail::Short) {
        if let Block::Heading { heading, .. } = &block {
            wanted = ["CAUTIONS", "THE PLAN"].contains(&heading.as_str());
        }
        if !wanted {
            continue;
        }
        let line = match block {
            Block::Heading { heading, remark } => format!("\n{heading}  {remark}"),
            Block::Labelled { label, text, .. } => format!("{label} | {text}"),
            Block::Row { label, text, .. } => format!("  {label} | {text}"),
            Block::Lead(text) | Block::Text { text, .. } => text,
            Block::Item { text, .. } => format!("  - {text}"),
            Block::Strip(strip) => {
                let heads: Vec<&str> = strip.rows.iter().map(|(head, _)| head.as_str()).collect();
                format!("  strip | {}", heads.join(" | "))
            }
            other => panic!("{other:?} in cautions or plan"),
        };
        text.push_str(line.replace('\u{a0}', " ").trim_end());
        text.push('\n');
    }
    text
}

/// The words alone: every number is `#`, for those are asserted by value.
fn assert_words(name: &str, brief: &Brief) {
    insta::with_settings!({filters => vec![(r"\d+(?:[.,:]\d+)*", "#")]}, {
        insta::assert_snapshot!(name, words(brief));
    });
}

fn level_of(brief: &Brief, hazard: Hazard) -> Option<CautionLevel> {
    brief
        .cautions
        .iter()
        .find(|c| c.hazard == hazard)
        .map(|c| c.level)
}

fn usable(brief: &Brief, ramp: &str) -> Option<bool> {
    brief
        .plan
        .ramps
        .iter()
        .find(|r| r.id == ramp)
        .expect("a ramp")
        .usable
}

#[test]
fn a_march_pulse_on_the_sorrel() {
    let brief = morning("2026-03-12");
    assert_words("march_pulse", &brief);
    assert_eq!(brief.plan.order[0].places[0].zone.as_str(), "sorrel");
    let pulse = brief
        .inflows
        .iter()
        .find(|i| i.inflow.as_str() == "sorrel")
        .and_then(|i| i.pulse.as_ref());
    // Two days past its peak, as the generator of the demonstration has it.
    assert!(
        pulse.is_some_and(|p| p.peaked && (1.0..=3.0).contains(&p.days_since_peak)),
        "{pulse:?}"
    );
    // Wood floats: no run in the dark, and 6 mph (lake file) all the way, a mile being 1609.344 m exactly.
    let pace = brief.plan.pace.as_ref().expect("a boat");
    let light = brief.light.as_ref().expect("the sun");
    assert!(pace.waits_for_dawn && pace.slow_by_day);
    assert_eq!(Some(pace.leave_at), light.civil_dawn);
    let first = &brief.plan.order[0].places[0];
    let ramp = brief
        .plan
        .ramps
        .iter()
        .find(|r| Some(&r.id) == first.ramp.as_ref());
    let run = ramp
        .and_then(|r| {
            r.runs
                .iter()
                .find(|r| r.zone == first.zone && r.stretch.is_none())
        })
        .expect("a run");
    let wanted_h = run.distance_m.expect("a way") / 1609.344 / 6.0;
    assert!((run.run_h.expect("a time") - wanted_h).abs() < 1e-6, "{run:?}");
    // The last hours go by for want of light: an hour before civil dawn the trip begins, and lasts 6 h (lake file).
    let trip_h = (brief.plan.hours.to - pace.leave_at).num_seconds() as f64 / 3600.0;
    assert!(
        (first.fishing_h - (trip_h - 2.0 * wanted_h)).abs() < 1e-6,
        "{first:?}"
    );
}

#[test]
fn dead_of_summer() {
    let brief = morning("2025-07-24");
    assert_words("dead_of_summer", &brief);
    assert_eq!(brief.plan.stop, []);
    let kings = brief
        .plan
        .order
        .iter()
        .find(|o| o.species.as_str() == "landlocked-chinook");
    assert_eq!(kings.expect("kings").places[0].zone.as_str(), "main");
    numbers::assert_ramps(&brief, 818.4);
    numbers::assert_fall(&brief, 3.6);
    numbers::assert_depths(&brief);
    numbers::assert_cable(&brief);
    // Of four rungs one is for the other species.
    numbers::assert_second(&brief, at("2025-07-24T12:11:03Z"), 3);
    numbers::assert_cold(&brief, 13.5);
}

fn at(text: &str) -> DateTime<Utc> {
    text.parse().expect("a time")
}

#[test]
fn first_cold_week_of_october() {
    let brief = morning("2025-10-09");
    assert_words("first_cold_week_of_october", &brief);
    assert_eq!(level_of(&brief, Hazard::ColdWater), Some(CautionLevel::Severe));
    assert_eq!(
        brief.plan.ramps.iter().filter(|r| r.usable == Some(true)).count(),
        1
    );
    numbers::assert_ramps(&brief, 778.9);
    numbers::assert_fall(&brief, 2.4);
    numbers::assert_depths(&brief);
    numbers::assert_cable(&brief);
    numbers::assert_second(&brief, at("2025-10-09T13:36:23Z"), 3);
    numbers::assert_cold(&brief, 8.1);
    // 12 kt sustained or gusts of 20 kt make the caution (config/cautions.toml), and neither reaches the next one's 18 kt.
    let [wind_kt, gust_kt] = numbers::wind_kt(&brief);
    assert!(
        (12.0..18.0).contains(&wind_kt) && gust_kt >= wind_kt,
        "{wind_kt} {gust_kt}"
    );
    numbers::assert_waves(&brief, wind_kt * 1852.0 / 3600.0);
}

#[test]
fn a_drawdown_that_closes_wicket_flat_and_no_other_ramp() {
    let summer = summer_with(|conditions| {
        let pool = conditions.pool.as_mut().expect("a level");
        pool.elevation_m = 826.0 * M_PER_FT;
    });
    assert_eq!(usable(&summer, "wicket-flat"), Some(true));
    // The toe at 821 ft needs 3 ft of water: at 823 ft it is out, and Sorrel Bridge (807 ft) is in use.
    let brief = summer_with(|conditions| {
        let pool = conditions.pool.as_mut().expect("a level");
        pool.elevation_m = 823.0 * M_PER_FT;
    });
    assert_words("drawdown_closes_wicket_flat", &brief);
    assert_eq!(usable(&brief, "wicket-flat"), Some(false));
    for ramp in ["dam-road", "fiddler-cove", "sorrel-bridge"] {
        assert_eq!(usable(&brief, ramp), Some(true), "{ramp}");
    }
    let wicket = brief
        .plan
        .ramps
        .iter()
        .find(|r| r.id == "wicket-flat")
        .expect("Wicket Flat");
    assert!(wicket.runs.iter().all(|r| r.why_not == Some(NoWay::RampOut)));
    assert!((wicket.water_over_toe_m.expect("a level") - 2.0 * M_PER_FT).abs() < 1e-9);
    numbers::assert_ramps(&brief, 823.0);
    numbers::assert_depths(&brief);
    numbers::assert_cable(&brief);
    numbers::assert_second(&brief, at("2025-07-24T12:11:03Z"), 3);
}

#[test]
fn a_wind_day_on_which_the_plan_says_stay_ashore() {
    // 14 m/s is 27 kt, above the 18 kt of config/cautions.toml.
    let brief = summer_with(|conditions| {
        let wind = conditions.wind.as_mut().expect("a forecast");
        (wind.speed_max_m_s, wind.gust_max_m_s) = (14.0, Some(18.0));
        for hour in &mut wind.hours {
            (hour.speed_m_s, hour.speed_high_m_s) = (14.0, Some(14.0));
        }
    });
    assert_words("wind_day", &brief);
    assert_eq!(level_of(&brief, Hazard::Wind), Some(CautionLevel::Severe));
    assert!(brief.plan.stop.contains(&Hazard::Wind), "{:?}", brief.plan.stop);
    // The rest of the plan is there for when it no longer blows, and the drift is that of the wind.
    assert!(!brief.plan.order[0].places.is_empty());
    let drift = brief.plan.set_depth.drift.expect("a wind");
    assert!((drift.wind_speed_m_s - 14.0).abs() < 1e-9, "{drift:?}");
    let [wind_kt, gust_kt] = numbers::wind_kt(&brief);
    // 14 and 18 m/s by the nautical mile of 1852 m.
    assert!(
        (wind_kt - 27.2).abs() < 0.05 && (gust_kt - 35.0).abs() < 0.05,
        "{wind_kt} {gust_kt}"
    );
    numbers::assert_waves(&brief, 14.0);
    assert!(
        brief.plan.stop.contains(&Hazard::Waves)
            == (level_of(&brief, Hazard::Waves) == Some(CautionLevel::Severe))
    );
    numbers::assert_ramps(&brief, 818.4);
    numbers::assert_depths(&brief);
    numbers::assert_cable(&brief);
    numbers::assert_second(&brief, at("2025-07-24T12:11:03Z"), 3);
}

#[test]
fn a_morning_with_every_feed_down_gives_no_run_no_wind_and_says_so() {
    let store = cache().join("plan-empty");
    let output = run(&[
        "brief",
        "--demo",
        "--offline",
        "--store",
        &store.to_string_lossy(),
        "--format",
        "json",
    ]);
    assert_eq!(output.status.code(), Some(3));
    let json: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let brief: Brief = serde_json::from_value(json).expect("a brief");
    assert_words("every_feed_down", &brief);
    for ramp in &brief.plan.ramps {
        assert_eq!(
            (ramp.usable, ramp.water_over_toe_m, ramp.lasts),
            (None, None, None)
        );
        assert!(
            ramp.runs.iter().all(|r| r.why_not == Some(NoWay::NoLevel)),
            "{ramp:?}"
        );
    }
    assert!(!brief.plan.hours.wind_known);
    assert_eq!(brief.plan.set_depth.drift, None);
    // Without a level there is no run and no ramp, and nothing is called near or within reach; nor is any wind, wave or water a figure.
    for order in &brief.plan.order {
        assert!(
            order.places.iter().all(|p| p.ramp.is_none() && p.run_h.is_none()),
            "{order:?}"
        );
    }
    for caution in &brief.cautions {
        for key in [
            "wind_speed_m_s",
            "wind_gust_m_s",
            "wave_height_m",
            "pool_elevation_m",
        ] {
            let told = caution.figures.iter().any(|(k, _)| k.as_str() == key);
            assert!(!told, "{key} in {caution:?}");
        }
    }
    for hazard in [
        Hazard::Wind,
        Hazard::Waves,
        Hazard::Thunder,
        Hazard::Fog,
        Hazard::Heat,
        Hazard::LowWater,
    ] {
        assert_eq!(
            level_of(&brief, hazard),
            Some(CautionLevel::NotKnown),
            "{hazard:?}"
        );
    }
}

/// The lake with every depth below the full pool doubled, its outlet too: twice as deep, and drawn from twice as deep.
fn twice_as_deep(lake: &Lake) -> Lake {
    let mut deep = lake.clone();
    let full_m = lake.full_pool_elevation_m;
    let down = |elevation_m: &mut f64| {
        if *elevation_m < full_m {
            *elevation_m = full_m - 2.0 * (full_m - *elevation_m);
        }
    };
    if let Some(hypsography) = &mut deep.hypsography {
        hypsography.elevation_m.iter_mut().for_each(down);
        // The integral of the area by the trapezoid rule, as the lake file has it.
        let mut volume_m3 = hypsography.volume_m3[0];
        for i in 1..hypsography.elevation_m.len() {
            let high_m = hypsography.elevation_m[i] - hypsography.elevation_m[i - 1];
            volume_m3 += 0.5 * high_m * (hypsography.area_m2[i] + hypsography.area_m2[i - 1]);
            hypsography.volume_m3[i] = volume_m3;
        }
    }
    for zone in &mut deep.zones {
        zone.area_share
            .iter_mut()
            .for_each(|(elevation_m, _)| down(elevation_m));
        zone.thalweg.iter_mut().for_each(|p| down(&mut p.bed_elevation_m));
    }
    deep.outlets.iter_mut().for_each(|o| down(&mut o.elevation_m));
    deep
}

#[test]
fn in_a_twice_as_deep_lake_drawn_from_below_the_band_of_the_kings_reaches_deeper() {
    // Common practice, no source: kings lie deeper in deep reservoirs. The columns are run on both lakes with the same weather,
    // rivers, level and release.
    let Summer { lake, set } = summer();
    let species = plungeline::species::builtin("landlocked-chinook").expect("kings");
    let of = |lake: &Lake| {
        let source = MorningSource {
            lake_file: hash_of(b"a lake of the tests"),
            own: &[],
            states: None,
            forage: &[],
            ahead: false,
        };
        let morning = morning_water(lake, set, &source);
        assert!(
            morning.water.columns.is_some(),
            "the columns ran: {:?}",
            morning.water.gaps
        );
        let found = species_depth(lake, &species, &morning.conditions, &morning.water);
        assert_eq!(found.species, SpeciesId::new("landlocked-chinook"));
        let main = found
            .zones
            .into_iter()
            .find(|z| z.zone.as_str() == "main")
            .expect("main");
        [main.band_top_m, main.set_m, main.band_bottom_m].map(|m| m.expect("a band") / M_PER_FT)
    };
    let (shallow, deep) = (of(lake), of(&twice_as_deep(lake)));
    println!("kings in the main body, top, set and bottom in ft: {shallow:.0?}, twice as deep {deep:.0?}");
    // Common practice, no source: deep lakes are fished at 100 to 150 ft. The band reaches down to there and beyond; its upper edge and its
    // best water do not move down with the bed, since the surface layer of both lakes has the same weather.
    assert!(deep[2] > shallow[2] && deep[2] > 150.0, "{shallow:?} {deep:?}");
    // So the band as a whole lies deeper: its middle does.
    let middle_ft = |band: [f64; 3]| 0.5 * (band[0] + band[2]);
    assert!(
        middle_ft(deep) > middle_ft(shallow) + 20.0,
        "{shallow:?} {deep:?}"
    );
}
