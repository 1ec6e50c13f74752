//! `plungeline brief` keeps a forecast, `plungeline skill` shows how forecasts did.

use plungeline::archive::KeptForecast;
use plungeline::reports::SkillPage;
use plungeline::skill::lead_scores::LeadVerdict;
use serde_json::Value;

use crate::brief::demo::{cache, run};

fn text(arguments: &[&str]) -> String {
    let output = run(arguments);
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(0), "{arguments:?}: {told}");
    String::from_utf8(output.stdout).expect("UTF-8")
}

#[test]
fn a_brief_keeps_what_it_forecast_member_by_member() {
    let store = cache().join("kept-forecasts");
    let store_text = store.to_str().expect("UTF-8");
    let arguments = ["brief", "--demo", "--store", store_text, "--format", "json"];
    let brief: Value = serde_json::from_str(&text(&arguments)).expect("JSON");
    let mut files: Vec<std::path::PathBuf> = Vec::new();
    let mut left = vec![store];
    while let Some(folder) = left.pop() {
        for entry in std::fs::read_dir(folder).expect("a folder") {
            let path = entry.expect("an entry").path();
            let in_forecasts = path.parent().is_some_and(|p| p.ends_with("forecasts"));
            match path.is_dir() {
                true => left.push(path),
                false if in_forecasts => files.push(path),
                false => {}
            }
        }
    }
    assert_eq!(files.len(), 1, "{files:?}");
    let bytes = std::fs::read(&files[0]).expect("readable");
    assert!(bytes.len() < 40_000, "{} bytes a morning", bytes.len());
    let kept: KeptForecast = serde_json::from_slice(&bytes).expect("a forecast");
    assert!(kept.replayed && kept.as_of.to_rfc3339().starts_with("2025-10-09T11:30"));
    let days =
        |kept: &[plungeline::archive::KeptDay]| (kept.len(), kept.first().map_or(0, |d| d.members.len()));
    // 16 days of weather from the clock on are 15 whole ones; 32 members of the water, 40 of the level (src/analysis, src/conditions).
    assert!(
        days(&kept.surface).0 >= 10 && days(&kept.surface).1 == 32,
        "{:?}",
        days(&kept.surface)
    );
    assert_eq!(days(&kept.level), (16, 40));
    assert_eq!(days(&kept.gauged).1, 40);
    assert_eq!(kept.thermocline.len(), kept.surface.len());
    assert!(
        kept.thermocline
            .iter()
            .all(|day| day.members.len() + day.without == 32)
    );
    // The brief's own figure of the same day lies among the members.
    let day = &kept.surface[6];
    let shown = brief["water"]["surface_outlook"].as_array().expect("days");
    let shown = shown
        .iter()
        .find(|d| d["date"] == day.date.to_string())
        .expect("the day");
    let median_degc = shown["median_degc"].as_f64().expect("a number");
    let below = day.members.iter().filter(|m| **m <= median_degc + 1e-4).count();
    assert_eq!(below, 16, "half of 32 members");
    assert!(shown.get("shown_by").is_none(), "a young archive changes nothing");
}

#[test]
fn the_page_of_the_demonstration_shows_invented_forecasts_and_says_so() {
    let page = text(&["skill", "--demo"]);
    assert!(
        page.contains("INVENTED") && page.contains("Surface temperature"),
        "{page}"
    );
    assert!(page.lines().all(|line| line.chars().count() <= 80), "{page}");
    let html = text(&["skill", "--demo", "--format", "html"]);
    assert!(
        html.contains("INVENTED") && html.contains("<svg") && !html.contains("http"),
        "{html}"
    );
    let json = text(&["skill", "--demo", "--format", "json"]);
    let page: SkillPage = serde_json::from_str(&json).expect("a page");
    let forecasts = &page.forecasts;
    assert!(
        forecasts.invented && forecasts.scored >= 190,
        "{}",
        forecasts.scored
    );
    let surface = &forecasts.variables[0];
    // Invented 0.6 degC too warm: a correction must be found to help, and be the rule. Half a year has 12 to 25 blocks of a week and the lead:
    // at one of ten leads chance may hide it.
    let helps = surface.corrections.iter().filter(|c| c.trial.helps).count();
    assert!(surface.corrections.len() == 10 && helps >= 9, "{helps}");
    assert!(
        (surface.leads[0].bias - 0.6).abs() < 0.2,
        "{}",
        surface.leads[0].bias
    );
    let level = &forecasts.variables[2];
    assert!(
        level
            .leads
            .iter()
            .any(|score| score.verdict != LeadVerdict::Better),
        "not all is better"
    );
}
