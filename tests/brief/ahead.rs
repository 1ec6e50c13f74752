//! The level ahead on the demonstration mornings, against the levels that its data hold of later days.

use serde_json::Value;

use super::demo::{brief, run};

/// Feet of a metre, by definition of the foot.
const FT_PER_M: f64 = 1.0 / 0.3048;

fn day_ahead(brief: &Value, date: &str) -> Value {
    let days = brief["level_outlook"]["days"].as_array().expect("an outlook");
    days.iter().find(|d| d["date"] == date).cloned().expect("the day")
}

#[test]
fn a_week_ahead_the_level_is_near_what_the_data_of_that_day_hold() {
    // Day means of fixtures/demo/usgs-ogc/daily-990000010-62614-2025 and -2026, plus the datum offset of 3.42 ft.
    for (morning, date, truth_ft) in [
        ("2025-07-24", "2025-07-31", 814.42),
        ("2025-10-09", "2025-10-16", 776.88),
        ("2026-01-17", "2026-01-24", 790.87),
    ] {
        let brief = brief(morning);
        let basis = &brief["level_outlook"]["basis"];
        assert_eq!(basis["kind"], "water_balance", "{basis}");
        let day = day_ahead(&brief, date);
        let ft = |name: &str| day[name].as_f64().expect("a level") * FT_PER_M;
        let missed_ft = (ft("median_m") - truth_ft).abs();
        // Half a foot: the mean of a day lies a quarter of a foot from the level of its morning, the rest is error.
        assert!(missed_ft < 0.5 && ft("low_m") < ft("high_m"), "{morning}: {day}");
        let now_ft = brief["pool"]["elevation_m"].as_f64().expect("a level") * FT_PER_M;
        assert!(
            missed_ft < 0.5 * (now_ft - truth_ft).abs(),
            "{morning}: a lake that stays misses by less than twice"
        );
    }
}

#[test]
fn a_ramp_that_a_falling_lake_takes_out_is_dated_in_both_faces() {
    let brief = brief("2025-07-24");
    let ramps = brief["ramps"].as_array().expect("ramps");
    let bridge = ramps
        .iter()
        .find(|r| r["id"] == "sorrel-bridge")
        .expect("the ramp");
    let turn = &bridge["outlook"]["turn"];
    assert_eq!(bridge["usable"], true);
    assert_eq!(turn["comes_back"], false);
    // The boat needs 810.00 ft there (toe 807, draught 3): day means of 810.52 on 7 August, 809.95 on the 8th, 809.37 on
    // the 9th.
    let date = turn["date"].as_str().expect("a date");
    assert!(("2025-08-07"..="2025-08-09").contains(&date), "{turn}");
    let below: Vec<f64> = bridge["outlook"]["days"]
        .as_array()
        .expect("days")
        .iter()
        .map(|d| d["below_prob"].as_f64().expect("a probability"))
        .collect();
    assert_eq!((below.len(), below[0]), (17, 0.0));
    let text = String::from_utf8(run(&["brief", "--demo", "--as-of", "2025-07-24"]).stdout).expect("UTF-8");
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let day: u32 = date[8..].parse().expect("a day");
    assert!(
        flat.contains("2 lanes; out from about") && flat.contains(&format!("{day} Aug (chance")),
        "{text}"
    );
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
}
