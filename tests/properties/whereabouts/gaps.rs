//! What is not known is named, weakens the call, and stops nothing.

use plungeline::column::{ProfileBasis, Water};
use plungeline::lake::ZoneId;
use plungeline::series::GapReason;
use plungeline::species::builtin;
use plungeline::whereabouts::{SpeciesCall, Verdict};

use super::morning::*;

#[test]
fn a_missing_river_temperature_is_named_left_out_and_widens_the_interval() {
    let arm = Arm {
        ratio: 5.0,
        days_since_peak: Some(1.0),
        ..ARM
    };
    let known = morning("2026-03-12", 9.0, &[("north", arm)]);
    let mut unknown = known.clone();
    unknown.water.rivers.clear();
    let (known, unknown) = (known.rainbow(), unknown.rainbow());
    let gap = unknown
        .gaps
        .iter()
        .find(|g| g.what == "river_temp:north")
        .expect("the gap is named");
    assert!(format!("{:?}", gap.consequence).contains("R4"), "{gap:?}");
    let reasons = |call: &SpeciesCall| {
        call.reasons
            .iter()
            .any(|r| r.rule == "R4" && r.zone.as_str() == "north")
    };
    assert!(reasons(&known) && !reasons(&unknown));
    assert!(known.gaps.iter().all(|g| !g.what.starts_with("river_temp")));
    // Against a morning on which the rule is known to be silent: same centre, wider interval.
    let silent = morning(
        "2026-03-12",
        9.0,
        &[(
            "north",
            Arm {
                river_degc: 14.0,
                ..arm
            },
        )],
    )
    .rainbow();
    let width = |call: &SpeciesCall| {
        let z = &call.zones[&ZoneId::new("north")];
        (
            (z.high / (1.0 - z.high)).ln() - (z.low / (1.0 - z.low)).ln(),
            z.eta,
        )
    };
    let ((wide, eta), (narrow, silent_eta)) = (width(&unknown), width(&silent));
    assert!((eta - silent_eta).abs() < 1e-9);
    assert!(wide > narrow + 0.05, "{wide} {narrow}");
}

#[test]
fn out_of_season_a_missing_river_temperature_leaves_no_run_out() {
    let mut m = morning("2026-07-24", 17.0, &[("north", ARM)]);
    m.water.rivers.clear();
    let call = m.rainbow();
    let figures: Vec<String> = call.gaps.iter().map(|g| format!("{:?}", g.consequence)).collect();
    assert!(
        figures
            .iter()
            .all(|f| !f.contains("R4") && !f.contains("R5a") && !f.contains("R3")),
        "{figures:?}"
    );
}

#[test]
fn without_hypsography_volumes_are_left_out_and_the_band_stands() {
    let mut m = morning("2025-07-24", 24.0, &[("north", ARM)]);
    m.lake.hypsography = None;
    m.water.zones.iter_mut().for_each(|z| z.area_m2 = None);
    let call = m.kings();
    assert!(
        call.gaps.iter().any(|g| g.what == "hypsography"),
        "{:?}",
        call.gaps
    );
    assert!(call.reasons.iter().all(|r| r.rule != "R1"));
    let (top, bottom) = (call.band_top_m.unwrap(), call.band_bottom_m.unwrap());
    assert!(top < bottom, "{top} {bottom}");
    // In this lake the best water fills more than half of the band, so that no depth is named.
    assert_eq!(call.band_best_m, None);
}

#[test]
fn without_any_water_there_is_still_a_call_and_no_band() {
    let mut m = morning("2025-07-24", 24.0, &[("north", ARM)]);
    m.water = Water {
        members: 0,
        zones: Vec::new(),
        rivers: Vec::new(),
        ..m.water
    };
    m.conditions.pool = None;
    m.conditions.inflows.clear();
    let call = m.kings();
    let total: f64 = call.zones.values().map(|z| z.share).sum();
    assert!((total - 1.0).abs() < 1e-9);
    assert_eq!(
        (call.band_top_m, call.band_bottom_m, call.near_surface_suitability),
        (None, None, None)
    );
    for topic in ["depth_band", "water_temp", "river_temp:north", "level_change_7d"] {
        assert!(
            call.gaps.iter().any(|g| g.what == topic),
            "{topic}: {:?}",
            call.gaps
        );
    }
}

#[test]
fn unknown_oxygen_is_said_and_known_oxygen_moves_the_band_up() {
    let mut m = morning("2025-08-20", 24.0, &[]);
    let unknown = m.kings();
    assert!(unknown.gaps.iter().any(|g| g.what == "dissolved_oxygen"));
    m.water.zones[0].oxygen_mg_l = Some(vec![vec![8.0, 8.0, 5.0, 0.5]; 10]);
    let known = m.kings();
    assert!(known.gaps.iter().all(|g| g.what != "dissolved_oxygen"));
    assert!(known.band_bottom_m.unwrap() < unknown.band_bottom_m.unwrap() - 1.0);
}

#[test]
fn a_measured_profile_gives_a_narrower_band_than_a_rule_of_thumb() {
    let mut m = morning("2025-08-20", 24.0, &[]);
    let width = |call: SpeciesCall| call.band_bottom_m.unwrap() - call.band_top_m.unwrap();
    let thumb = width(m.kings());
    m.water.zones[0].basis = ProfileBasis::Measured {
        observed_at: m.conditions.as_of,
    };
    assert!(width(m.kings()) < thumb);
}

#[test]
fn what_a_species_file_does_not_know_is_no_share_and_no_depth() {
    let m = morning("2025-08-20", 24.0, &[("north", ARM)]);
    let call = |id: &str| m.call(&builtin(id).unwrap());
    let gap = |call: &SpeciesCall, what: &str| {
        let found = call.gaps.iter().find(|g| g.what == what).cloned();
        let found = found.unwrap_or_else(|| panic!("{what}: {:?}", call.gaps));
        assert!(
            matches!(found.reason, GapReason::NotKnown { why } if !why.is_empty()),
            "{what}"
        );
    };
    // Where a smallmouth is between body and arm is not known, at which depth it is.
    let bass = call("smallmouth-bass");
    assert!(matches!(bass.verdict, Verdict::NotKnown { .. }) && bass.zones.is_empty());
    assert!(bass.reasons.is_empty() && bass.band_top_m.is_some());
    assert_eq!(
        (bass.likeliest_fishable, bass.within_limits),
        (m.lake.main_body().id.clone(), None)
    );
    gap(&call("smallmouth-bass"), "species_rules:smallmouth-bass");
    gap(&call("smallmouth-bass"), "species_limits:smallmouth-bass");
    // Of pond smelt neither.
    let smelt = call("pond-smelt");
    assert_eq!((smelt.band_top_m, smelt.near_surface_suitability), (None, None));
    gap(&smelt, "species_temperature:pond-smelt");
    assert!(
        smelt.gaps.iter().all(|g| g.what != "depth_band"),
        "{:?}",
        smelt.gaps
    );
    // Cold-water fish have both, and their limits.
    for id in ["kokanee", "brown-trout", "lake-trout"] {
        let known = call(id);
        assert!(
            (known.zones.values().map(|z| z.share).sum::<f64>() - 1.0).abs() < 1e-9,
            "{id}"
        );
        assert!(
            known.band_top_m.is_some() && known.within_limits.is_some(),
            "{id}"
        );
    }
}
