//! The plan, as an angler reads it: scenes of the demonstration lake, common practice (marked so), and one screen.

use chrono_tz::America::Los_Angeles;
use plungeline::conditions::{WindHour, conditions_at};
use plungeline::faces::{Detail, Ink, Reader, Units, render_plan_text, render_text};
use plungeline::plan::{NoWay, Plan, SecondChoice, ZoneDepth};
use plungeline::reports::Brief;
use serde_json::Value;

use super::demo::{MORNINGS, brief, cache, run};

const M_PER_FT: f64 = 0.3048; // exact, 1959
const KINGS: &str = "landlocked-chinook";
const RAINBOWS: &str = "rainbow-trout";

fn morning(day: &str) -> Brief {
    serde_json::from_value(brief(day)).expect("a brief")
}

fn reader(units: Units) -> Reader {
    Reader {
        units,
        zone: Los_Angeles,
    }
}

fn screen(brief: &Brief, units: Units) -> String {
    render_plan_text(brief, &reader(units), Ink { colour: false })
}

/// The depth of a species in the first place of its order, or in the zone named.
fn depth<'p>(plan: &'p Plan, species: &str, zone: Option<&str>) -> &'p ZoneDepth {
    let order = plan
        .order
        .iter()
        .find(|o| o.species.as_str() == species)
        .expect("an order");
    let zone = zone.unwrap_or_else(|| order.places[0].zone.as_str());
    let depth = plan
        .depth
        .iter()
        .find(|d| d.species.as_str() == species)
        .expect("a depth");
    depth
        .zones
        .iter()
        .find(|z| z.zone.as_str() == zone)
        .expect("the zone")
}

#[test]
fn the_whole_plan_fits_one_screen() {
    for day in MORNINGS {
        for units in [Units::Us, Units::Metric] {
            let text = screen(&morning(day), units);
            let lines: Vec<&str> = text.trim().lines().collect();
            assert!(lines.len() <= 40, "{day}: {} lines\n{text}", lines.len());
            let wide = lines.iter().find(|l| l.chars().count() > 80);
            assert_eq!(wide, None, "{day}\n{text}");
            for code in ["_m_s", "_degc", "NaN", "inf", "None"] {
                assert!(!text.contains(code), "{day}: {code}\n{text}");
            }
        }
    }
}

#[test]
fn the_plan_stands_in_json_beside_the_cautions_and_after_them_on_the_page() {
    let json = brief("2025-10-09");
    for key in ["ramps", "order", "depth", "ladder"] {
        let found = json["plan"][key].as_array();
        assert!(found.is_some_and(|a| !a.is_empty()), "{key}");
    }
    assert!(
        json["plan"]["hours"]["hours"]
            .as_array()
            .is_some_and(|h| h.len() >= 6)
    );
    let brief: Brief = serde_json::from_value(json).expect("a brief");
    let text = render_text(&brief, &reader(Units::Us), Ink { colour: false }, Detail::Whole);
    let at = |words: &str| text.find(words).unwrap_or_else(|| panic!("{words}\n{text}"));
    assert!(at("CAUTIONS") < at("THE PLAN") && at("THE PLAN") < at("WHY THIS ORDER"));
    assert!(
        text.contains("THE PLAN  ramps by level only; gate, closure and surface are not known"),
        "{text}"
    );
    assert!(!text.to_lowercase().contains("safe"), "{text}");
}

#[test]
fn a_march_pulse_sends_rainbows_up_the_sorrel_and_the_wind_keeps_the_boat_ashore() {
    let brief = morning("2026-03-12");
    let order = &brief.plan.order[0];
    assert_eq!(order.species.as_str(), RAINBOWS);
    assert_eq!(order.places[0].zone.as_str(), "sorrel");
    // An official wind product is in force: the plan says first that it does not hold.
    let text = screen(&brief, Units::Us);
    let stay = text.find("STAY ASHORE").unwrap_or_else(|| panic!("{text}"));
    assert!(stay < text.find("First").expect("a first place"), "{text}");
    assert!(
        brief
            .cautions
            .iter()
            .any(|c| serde_json::to_value(c.hazard).expect("a word") == "debris")
    );
}

#[test]
fn dead_of_summer_puts_kings_at_their_band_in_the_main_body_and_the_band_overlaps_35_to_60_ft() {
    let brief = morning("2025-07-24");
    let kings = brief
        .plan
        .order
        .iter()
        .find(|o| o.species.as_str() == KINGS)
        .expect("kings");
    assert_eq!(kings.places[0].zone.as_str(), "main");
    let main = depth(&brief.plan, KINGS, Some("main"));
    let (top, bottom) = (
        main.band_top_m.expect("a band"),
        main.band_bottom_m.expect("a band"),
    );
    // Common practice, no source: kings at 35 to 60 ft in the dead of summer.
    assert!(
        top < 60.0 * M_PER_FT && bottom > 35.0 * M_PER_FT,
        "{top} to {bottom} m"
    );
    let set = main.set_m.expect("a depth");
    assert!((top..=bottom).contains(&set), "{set} m");
    // Common practice, no source: shallower at first light, but within what the water allows.
    assert!(main.first_light_m.expect("a depth") <= set);
    // Common practice, no source: steep structure first.
    let first = main.structures.first().expect("structure that reaches it");
    assert!(first.steep, "{first:?}");
    // And never one whose bed, at the least 1.5 m under the ball, would hold it.
    for pick in &main.structures {
        assert!(pick.water_m >= set + 1.5, "{pick:?} {set}");
    }
}

#[test]
fn rainbows_of_late_winter_are_run_above_30_ft() {
    // Common practice, no source: rainbows in February lie above 30 ft; the demonstration's winter mornings stand about it.
    for day in ["2026-01-17", "2026-03-12"] {
        let brief = morning(day);
        let found = depth(&brief.plan, RAINBOWS, None);
        let run = found.surface_m.or(found.set_m).expect("a depth");
        assert!(run < 30.0 * M_PER_FT, "{day}: {run} m, {found:?}");
    }
}

#[test]
fn kings_have_a_band_on_every_morning() {
    // Common practice, no source: kings are caught all year. A run for each month is in `year.rs`.
    for day in MORNINGS {
        let brief = morning(day);
        let found = depth(&brief.plan, KINGS, Some("main"));
        assert!(
            found.band_top_m.is_some() && found.set_m.is_some(),
            "{day}: {found:?}"
        );
    }
}

#[test]
fn the_first_cold_week_of_october_has_one_ramp_and_long_runs() {
    let brief = morning("2025-10-09");
    let in_use: Vec<&str> = brief
        .plan
        .ramps
        .iter()
        .filter(|r| r.usable == Some(true))
        .map(|r| r.id.as_str())
        .collect();
    assert_eq!(in_use, ["dam-road"]);
    let dam = brief
        .plan
        .ramps
        .iter()
        .find(|r| r.id == "dam-road")
        .expect("Dam Road");
    let run = dam
        .runs
        .iter()
        .find(|r| r.stretch.as_deref() == Some("tollhouse-wall"))
        .expect("a run");
    // The lake file's thalwegs: 5.5 mi to the mouth of the Sorrel Arm less what the ramp lies up the lake, and 2 to 3 mi up it.
    let miles = run.distance_m.expect("a way") / 1609.344; // exact
    assert!((7.0..8.5).contains(&miles), "{miles} mi");
    // 22 mph of the lake file.
    let wanted_h = miles / 22.0;
    assert!((run.run_h.expect("a time") - wanted_h).abs() < 1e-9);
    let sorrel = brief.plan.order[0]
        .places
        .iter()
        .find(|p| p.zone.as_str() == "sorrel")
        .expect("sorrel");
    assert_eq!(sorrel.ramp.as_deref(), Some("dam-road"));
    assert!((sorrel.fishing_h - (6.0 - 2.0 * sorrel.run_h.expect("a run"))).abs() < 1e-9);
    // Out of use, nothing is run from.
    let bridge = brief
        .plan
        .ramps
        .iter()
        .find(|r| r.id == "sorrel-bridge")
        .expect("Sorrel Bridge");
    assert!(bridge.runs.iter().all(|r| r.why_not == Some(NoWay::RampOut)));
    assert_eq!(brief.plan.closed_saddles, ["Saddle behind Fiddler Point"]);
}

#[test]
fn a_drawdown_closes_wicket_flat_and_the_way_up_its_arm() {
    let brief = morning("2025-10-09");
    let wicket = brief
        .plan
        .ramps
        .iter()
        .find(|r| r.id == "wicket-flat")
        .expect("Wicket Flat");
    assert_eq!(wicket.usable, Some(false));
    let dam = brief
        .plan
        .ramps
        .iter()
        .find(|r| r.id == "dam-road")
        .expect("Dam Road");
    let flat = dam
        .runs
        .iter()
        .find(|r| r.stretch.as_deref() == Some("heron-flat"))
        .expect("a run");
    // The bed of the thalweg there is at 797 ft, and the pool at 779.
    let Some(NoWay::TooShallow { zone, water_m, .. }) = &flat.why_not else {
        panic!("{flat:?}");
    };
    assert_eq!(zone.as_str(), "wicket");
    assert!(*water_m < 0.0);
    assert_eq!((flat.distance_m, flat.run_h), (None, None));
}

#[test]
fn a_rising_wind_shows_in_the_strip_hour_by_hour() {
    let brief = morning("2025-10-09");
    let hours = &brief.plan.hours;
    let winds: &[WindHour] = &brief.wind.as_ref().expect("wind").hours;
    assert_eq!(hours.hours.len(), winds.len());
    let highest = hours
        .hours
        .iter()
        .flat_map(|h| &h.chop)
        .filter_map(|c| c.wave_height_m)
        .fold(0.0, f64::max);
    let caution = brief.cautions.iter().find_map(|c| c.figures.get("wave_height_m"));
    // The strip and the caution are of the same figures.
    assert_eq!(Some(&highest), caution);
    assert!(hours.hours.iter().all(|h| h.air_temp_degc.is_some()));
}

#[test]
fn the_second_place_comes_after_the_first_and_before_the_end() {
    for day in MORNINGS {
        let brief = morning(day);
        for order in &brief.plan.order {
            let (Some(SecondChoice::Zone { at, .. }) | Some(SecondChoice::SameZone { at, .. })) =
                &order.second
            else {
                panic!("{day}: {order:?}");
            };
            assert!(
                *at > brief.plan.hours.from && *at < brief.plan.hours.to,
                "{day}: {at}"
            );
            assert!(
                order
                    .places
                    .windows(2)
                    .all(|w| w[0].worth_frac >= w[1].worth_frac)
            );
            assert!((order.places[0].worth_frac - 1.0).abs() < 1e-12);
        }
    }
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
    let text = screen(&brief, Units::Us);
    assert!(text.contains("not known"), "{text}");
    assert!(text.contains("check an official forecast"), "{text}");
    let cautions: Vec<Value> = brief
        .cautions
        .iter()
        .map(|c| serde_json::to_value(c).expect("JSON"))
        .collect();
    for hazard in ["wind", "waves", "thunder", "fog", "heat", "low_water"] {
        let found = cautions
            .iter()
            .find(|c| c["hazard"] == hazard)
            .unwrap_or_else(|| panic!("{hazard}"));
        assert_eq!(found["level"], "not_known", "{hazard}");
    }
}

#[test]
fn the_ladder_of_the_screen_is_the_lake_files_in_its_order() {
    let brief = morning("2025-07-24");
    let text = screen(&brief, Units::Us);
    let at = |words: &str| text.find(words).unwrap_or_else(|| panic!("{words}\n{text}"));
    assert!(at("1. a bare spoon") < at("slim six-inch"), "{text}");
    assert!(text.contains("through the water, not over ground"), "{text}");
    assert!(text.contains("common practice, no source"), "{text}");
    let kings = brief
        .plan
        .ladder
        .iter()
        .find(|l| l.species.as_str() == KINGS)
        .expect("kings");
    assert!(kings.from_lake_file && (3..=4).contains(&kings.rungs.len()));
}

#[test]
fn the_cable_of_the_plan_is_the_longer_the_faster_and_never_shorter_than_the_depth() {
    let brief = morning("2025-07-24");
    let rows = &brief.plan.set_depth.rows;
    assert!(!brief.plan.set_depth.assumed && rows.len() >= 4, "{rows:?}");
    for row in rows {
        assert!(row.cable_out_m.is_none_or(|out| out > row.depth_m), "{row:?}");
    }
}

#[test]
fn a_twice_as_deep_lake_drawn_from_below_has_its_kings_deeper() {
    // Common practice, no source: kings lie deeper in deep reservoirs. The same water, stretched to twice the depth: the cold
    // begins twice as deep.
    use plungeline::lake::{SpeciesId, read_lake};
    use plungeline::plan::depth::species_depth;
    use plungeline::series::Store;
    let folder = cache().join("plan-deep");
    let text = folder.to_string_lossy();
    let output = run(&["pull", "--demo", "--as-of", "2025-07-24", "--store", &text]);
    assert_eq!(output.status.code(), Some(0));
    let file = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("config/lakes/harrow-gap.toml");
    let toml = std::fs::read_to_string(&file).expect("the demonstration lake");
    let lake = read_lake(&toml, &file, &plungeline::sources::service_rules()).expect("no faults");
    let store = Store::open(&folder.join("20250724T113000Z"), &lake.id).expect("the store just pulled");
    let at = "2025-07-24T11:30:00Z".parse().expect("a time");
    let mut set = store.load(&lake, at);
    plungeline::quality::flag_set(&mut set, &lake, &plungeline::quality::Thresholds::built_in());
    let conditions = conditions_at(&lake, &set);
    let options = plungeline::column::WaterOptions { members: 16, seed: 1 };
    let water = plungeline::column::water_at(&lake, &conditions, &set, &options);
    let mut deep = water.clone();
    for zone in &mut deep.zones {
        zone.depth_m.iter_mut().for_each(|z| *z *= 2.0);
    }
    let species = plungeline::species::builtin(KINGS).expect("kings");
    let band = |water| {
        let found = species_depth(&lake, &species, &conditions, water);
        assert_eq!(found.species, SpeciesId::new(KINGS));
        let main = found
            .zones
            .into_iter()
            .find(|z| z.zone.as_str() == "main")
            .expect("main");
        (
            main.band_top_m.expect("a band"),
            main.band_bottom_m.expect("a band"),
        )
    };
    let (shallow, deeper) = (band(&water), band(&deep));
    assert!(
        deeper.0 > shallow.0 && deeper.1 > shallow.1,
        "{shallow:?} {deeper:?}"
    );
}
