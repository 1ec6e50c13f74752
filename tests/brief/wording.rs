//! The text of the brief: worded, within its page, and honest about what it rests on.

use std::collections::BTreeSet;

use chrono_tz::America::Los_Angeles;
use plungeline::conditions::RatioBasis;
use plungeline::faces::figures::is_worded;
use plungeline::faces::{Detail, Ink, Reader, Units, render_text};
use plungeline::plan::{Caution, CautionLevel, ColderWater, Hazard, LightsDue};
use plungeline::reports::Brief;
use plungeline::series::{Consequence, Gap, GapReason};

use super::demo::{MORNINGS, brief, run};
use crate::house::source::sources;

/// Quoted names of figures after one of these beginnings, in the program's part of some files.
fn named_after(files: &str, beginnings: &[&str]) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for source in sources("src").iter().filter(|s| s.path.starts_with(files)) {
        // A call may be broken over lines.
        let text: String = source.program().split_whitespace().collect::<Vec<_>>().join("");
        for beginning in beginnings {
            for (at, _) in text.match_indices(beginning) {
                let name = text[at + beginning.len()..].split('"').next().unwrap_or("");
                found.insert(name.to_owned());
            }
        }
    }
    found
}

#[test]
fn every_figure_of_a_caution_or_a_reason_has_a_wording() {
    let mut names = named_after("src/plan/cautions/", &["with_figure(\"", "with_figure_if(\""]);
    assert!(names.len() >= 12, "{names:?}");
    // Drivers are pairs of a name and what it stands for: `("flow_ratio", drivers.flow_ratio)`.
    let rules = named_after("src/whereabouts/rules.rs", &["(\""]);
    names.extend(rules.into_iter().filter(|n| n.contains('_')));
    let reasons = named_after("src/whereabouts/reasons.rs", &["(\""]);
    names.extend(reasons.into_iter().filter(|n| n.contains('_')));
    assert!(names.len() >= 25, "{names:?}");
    let without: Vec<&String> = names.iter().filter(|n| !is_worded(n)).collect();
    assert!(
        without.is_empty(),
        "no wording in src/faces/figures.rs: {without:?}"
    );
}

fn text(arguments: &[&str]) -> String {
    String::from_utf8(run(arguments).stdout).expect("UTF-8")
}

fn assert_fits(text: &str, what: &str) {
    let long: Vec<&str> = text.lines().filter(|l| l.chars().count() > 80).collect();
    assert!(long.is_empty(), "{what}: {long:#?}");
}

#[test]
fn no_page_is_wider_than_80_columns_or_holds_a_name_of_the_code() {
    for morning in MORNINGS.into_iter().chain(["1980-01-01", "2024-05-20"]) {
        for units in ["us", "metric"] {
            let text = text(&["brief", "--demo", "--why", "--as-of", morning, "--units", units]);
            assert_fits(&text, morning);
            let of_code: Vec<&str> = text.split_whitespace().filter(|w| w.contains('_')).collect();
            assert!(of_code.is_empty(), "{morning}: {of_code:?}\n{text}");
        }
    }
}

#[test]
fn the_page_says_what_its_shares_and_temperatures_rest_on() {
    let text = text(&["brief", "--demo", "--why"]);
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for said in [
        "share of the fish that the rules expect, and its 80 % interval; on any one day the fish scatter more",
        "°F, about: computed from weather, rivers and level, corrected by readings up to Thu 9 Oct 03:00; in brackets",
        "never measured here Model columns of water, main body and arms, run hour by hour since Sun 15 Dec 2024",
        "the quick model, for reference, has 68 °F at the surface",
        "fell 2.44 ft in 7 days",
        "higher than on 62 % of such days",
        "Lightning forecast: the lake file names no source; hence the caution on lightning",
        // The newest daily storage of that morning is the mean of 5 October.
        "newest Sun 5 Oct, day mean, 4 days old",
    ] {
        assert!(flat.contains(said), "{said:?} is not in\n{text}");
    }
    // What is not measured below the surface shows a range.
    assert!(flat.contains("148 ft 60 ("), "{text}");
}

#[test]
fn what_is_missing_of_a_caution_and_the_ramps_it_names_are_told_apart_from_places() {
    let mut brief: Brief = serde_json::from_value(brief("2026-01-17")).expect("a brief");
    for caution in &mut brief.cautions {
        match caution.hazard {
            Hazard::ColdWater => {
                let missing = ["water_temp:Wicket Arm", "inflow:wicket"];
                caution.names.extend(missing.map(str::to_owned));
            }
            Hazard::Thunder => caution.names.push("wind_gust".to_owned()),
            _ => {}
        }
    }
    let text = rendered(&brief, Units::Us);
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for said in [
        "Water may be as cold as 38 °F in Wicket Creek, the coldest on any open route; not known: water temperature, Wicket Arm; flow of Wicket Creek.",
        "higher than on 63 % of such days; ramp ends near the surface: Fiddler Cove;",
        // The newest water of the creek is the mean of 2 January.
        "Series wicket-temp: newest Fri 2 Jan, day mean, 15 days old",
    ] {
        assert!(flat.contains(said), "{said:?} is not in\n{text}");
    }
    assert!(!flat.split_whitespace().any(|w| w.contains('_')), "{text}");
}

#[test]
fn both_dark_ends_of_a_long_trip_are_told_with_their_hours_and_the_shoals_on_the_way() {
    let mut brief: Brief = serde_json::from_value(brief("2025-10-09")).expect("a brief");
    // The stand-in for a day out of 14 hours; times of 9 October, 7 h behind UTC.
    let at = |time: &str| time.parse().expect("a time");
    let darkness = brief.cautions.iter_mut().find(|c| c.hazard == Hazard::Darkness);
    let darkness = darkness.expect("the morning begins in the dark");
    let (dawn, rise) = (darkness.lights_due[0].dark_to, darkness.lights_due[0].to);
    assert!(dawn.expect("dawn") < rise, "lights are due beyond civil dawn");
    darkness.lights_due.push(LightsDue {
        from: at("2025-10-10T01:25:00Z"),
        to: at("2025-10-10T02:36:00Z"),
        dark_from: Some(at("2025-10-10T01:53:00Z")),
        dark_to: Some(at("2025-10-10T02:36:00Z")),
    });
    let text = rendered(&brief, Units::Us);
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for said in [
        "Darkness: lights between sunset and sunrise; in the dark slow past shoals.",
        "Lights 05:36 to 07:04, dark to 06:36; lights 18:25 to 19:36, dark from 18:53;",
        "shoals on an open route: Crown of Junction Hump,",
        "Ferry Rock",
    ] {
        assert!(flat.contains(said), "{said:?} is not in\n{text}");
    }
}

#[test]
fn a_colder_water_off_the_routes_cold_hands_and_a_dam_upstream_have_their_sentences() {
    let mut brief: Brief = serde_json::from_value(brief("2026-01-17")).expect("a brief");
    let cold = brief.cautions.iter().find(|c| c.hazard == Hazard::ColdWater);
    let cold = cold.expect("January water is cold").clone();
    // 40 degF is 4.44 degC, -19 degF is -28.3 degC.
    let colder = ColderWater {
        name: "Invented Creek".to_owned(),
        water_temp_degc: 4.44,
    };
    let hands = Caution {
        hazard: Hazard::ColdAir,
        level: CautionLevel::Strong,
        figures: [("felt_temp_degc".to_owned(), -28.3)].into(),
        names: Vec::new(),
        ..cold.clone()
    };
    let dam = Caution {
        hazard: Hazard::ChangingLevel,
        level: CautionLevel::Reminder,
        figures: Default::default(),
        names: vec!["Invented River into Sorrel Arm".to_owned()],
        ..cold.clone()
    };
    let off = Caution {
        colder_off_route: Some(colder),
        ..cold
    };
    brief.cautions = vec![off, hands, dam];
    let text = rendered(&brief, Units::Us);
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for said in [
        "colder, but off every open route: Invented Creek, 40 °F.",
        "STRONG Cold air: cover hands and face, and keep them dry. Feels like -19 °F on bare skin.",
        "ALWAYS Changing level: a sudden release is possible; ask the operator. Below a dam upstream: Invented River into Sorrel Arm.",
    ] {
        assert!(flat.contains(said), "{said:?} is not in\n{text}");
    }
}

fn rendered(brief: &Brief, units: Units) -> String {
    let reader = Reader::new(units, Los_Angeles);
    render_text(brief, &reader, Ink { colour: false }, Detail::Whole)
}

#[test]
fn a_regulated_flow_is_compared_with_its_usual_one() {
    let mut brief: Brief = serde_json::from_value(brief("2026-03-12")).expect("a brief");
    assert!(rendered(&brief, Units::Us).contains("1.9 times its base flow"));
    for inflow in &mut brief.inflows {
        inflow.ratio_basis = RatioBasis::Median30d;
    }
    let text = rendered(&brief, Units::Us);
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(!flat.contains("base flow"), "{text}");
    // In the conditions, and in the reasons.
    for said in [
        "1,350 cfs, 1.9 times its usual flow (median of 30 days)",
        "inflow peaked at 3.9 times its usual flow (median of 30 days)",
    ] {
        assert!(flat.contains(said), "{said:?} is not in\n{text}");
    }
}

#[test]
fn an_outage_is_one_line_and_long_names_and_addresses_stay_on_the_page() {
    let mut brief: Brief = serde_json::from_value(brief("2025-10-09")).expect("a brief");
    let long = "a name of a water that goes on and on until no line of a page can hold all of it";
    brief.lake.name = long.to_owned();
    for call in brief.whereabouts.values_mut() {
        for share in call.zones.values_mut() {
            share.name = format!("{} {long}", share.name);
        }
        let first = call.zones.values_mut().next().expect("a zone");
        first.closed = true;
    }
    for zone in &mut brief.water.zones {
        zone.name = format!("{} with thirty letters", zone.name);
    }
    for ramp in &mut brief.ramps {
        ramp.name = format!("{} at the end of the long gravel road", ramp.name);
    }
    let address = format!(
        "https://api.example.org/v1/era5_land?{}",
        "hourly=air_temp&".repeat(8)
    );
    for i in 0..24 {
        let message = match i {
            0 => format!("found status 404 for {address}"),
            _ => "cannot be reached (Connection refused): 23 requests".to_owned(),
        };
        brief.gaps.push(Gap {
            what: format!("series-{i}"),
            reason: GapReason::FetchFailed {
                service: "open-meteo".to_owned(),
                message,
            },
            consequence: Consequence::StandIn {
                stand_in: "what the store already holds".to_owned(),
            },
        });
    }
    for units in [Units::Us, Units::Metric] {
        let text = rendered(&brief, units);
        assert_fits(&text, "long names");
        assert_eq!(text.matches("cannot be reached").count(), 1, "{text}");
        assert!(
            text.contains("cannot be reached (Connection refused): 23"),
            "{text}"
        );
        let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains("(for series-1, series-2, series-3,"), "{text}");
        // The address is broken over lines, never changed.
        let joined: String = text.split_whitespace().collect();
        assert!(joined.contains(&address), "{text}");
    }
}

#[test]
fn every_time_of_the_json_is_a_whole_second() {
    for morning in MORNINGS {
        let output = run(&["brief", "--demo", "--as-of", morning, "--format", "json"]);
        let json = String::from_utf8(output.stdout).expect("UTF-8");
        let times: Vec<&str> = json
            .split('"')
            .filter(|text| chrono::DateTime::parse_from_rfc3339(text).is_ok())
            .collect();
        assert!(times.len() > 50, "{}", times.len());
        let broken: Vec<&&str> = times.iter().filter(|t| t.contains('.')).collect();
        assert!(broken.is_empty(), "{morning}: {broken:?}");
    }
}
