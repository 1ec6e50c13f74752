//! What holds for any call: shares, closed arms, pulses, permutations, seeds, gaps.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use plungeline::column::{ProfileBasis, RiverWater, Water, ZoneWater};
use plungeline::conditions::*;
use plungeline::lake::*;
use plungeline::species::{Species, builtin};
use plungeline::whereabouts::*;
use proptest::prelude::*;

/// One invented arm with its river.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Arm {
    surface_degc: f64,
    depth_m: f64,
    area_m2: f64,
    river_degc: f64,
    ratio: f64,
    days_since_peak: Option<f64>,
    closed: bool,
}

const ARM: Arm = Arm {
    surface_degc: 12.0,
    depth_m: 20.0,
    area_m2: 2e6,
    river_degc: 8.0,
    ratio: 1.1,
    days_since_peak: None,
    closed: false,
};

/// An invented morning: a main body 60 m deep and some arms, each with a river above it.
#[derive(Debug, Clone)]
struct Morning {
    lake: Lake,
    conditions: Conditions,
    water: Water,
    options: CallOptions,
}

fn morning(date: &str, main_degc: f64, arms: &[(&str, Arm)]) -> Morning {
    let date: NaiveDate = date.parse().unwrap();
    let as_of = date.and_hms_opt(12, 30, 0).unwrap().and_utc();
    let mut made = Morning {
        lake: lake(),
        conditions: conditions(as_of),
        water: Water {
            members: 10,
            zones: vec![standing("main", main_degc, 60.0, 1e7, false)],
            rivers: Vec::new(),
            surface_outlook: Vec::new(),
            surface_fit: None,
            gaps: Vec::new(),
        },
        options: CallOptions { draws: 2000, seed: 7, date },
    };
    for (name, arm) in arms {
        made.lake.zones.push(zone(name, ZoneKind::Arm, None));
        made.lake.zones.push(zone(&format!("{name}-river"), ZoneKind::River, Some(name)));
        made.lake.inflows.push(inflow(name));
        made.conditions.inflows.push(flow(name, *arm, as_of));
        made.water.zones.push(standing(name, arm.surface_degc, arm.depth_m, arm.area_m2, arm.closed));
        let temp_degc = (0..10).map(|m| arm.river_degc + 0.1 * (f64::from(m) - 4.5)).collect();
        made.water.rivers.push(RiverWater { inflow: InflowId::new(*name), temp_degc, measured: true });
    }
    made
}

impl Morning {
    fn call(&self, species: &Species) -> SpeciesCall {
        call_species(&self.lake, species, &self.conditions, &self.water, &self.options)
    }

    fn rainbow(&self) -> SpeciesCall {
        self.call(&builtin("rainbow-trout").unwrap())
    }

    fn kings(&self) -> SpeciesCall {
        self.call(&builtin("landlocked-chinook").unwrap())
    }
}

fn share(call: &SpeciesCall, zone: &str) -> f64 {
    call.zones[&ZoneId::new(zone)].share
}

fn by_zone(call: &SpeciesCall) -> BTreeMap<String, f64> {
    call.zones.iter().map(|(id, z)| (id.to_string(), z.share)).collect()
}

/// Cold at the bottom, warm at the surface; members half a degree apart at most.
fn standing(name: &str, surface_degc: f64, depth_m: f64, area_m2: f64, closed: bool) -> ZoneWater {
    let part = [0.0, 0.2, 0.4, 1.0];
    let bottom_degc = surface_degc.min(8.0);
    let profile = |m: i32| -> Vec<f64> {
        let surface = surface_degc + 0.1 * (f64::from(m) - 4.5);
        vec![surface, surface, bottom_degc + 0.4 * (surface - bottom_degc), bottom_degc]
    };
    ZoneWater {
        zone: ZoneId::new(name),
        depth_m: part.map(|p| p * depth_m).to_vec(),
        area_m2: Some(part.map(|p| area_m2 * (1.0 - p)).to_vec()),
        temp_degc: (0..10).map(profile).collect(),
        oxygen_mg_l: None,
        max_depth_m: Some(depth_m),
        volume_m3: Some(0.5 * area_m2 * depth_m),
        basis: ProfileBasis::SurfaceModelled,
        closed,
    }
}

fn zone(name: &str, kind: ZoneKind, above: Option<&str>) -> Zone {
    Zone {
        id: ZoneId::new(name),
        name: format!("the {name}"),
        kind,
        above: above.map(ZoneId::new),
        area_share: Vec::new(),
        thalweg: Vec::new(),
        orientation_deg: None,
        fetch: Vec::new(),
    }
}

fn inflow(name: &str) -> Inflow {
    Inflow {
        id: InflowId::new(name),
        name: format!("{name} river"),
        enters: ZoneId::new(name),
        flow: InflowFlow::Series,
        regulated: false,
        thermal_regime: ThermalRegime::Lowland,
        mean_flow_m3s: None,
    }
}

fn flow(name: &str, arm: Arm, as_of: DateTime<Utc>) -> InflowCondition {
    let day = as_of.date_naive();
    InflowCondition {
        inflow: InflowId::new(name),
        zone: ZoneId::new(name),
        discharge_m3s: 10.0 * arm.ratio,
        observed_at: as_of,
        baseflow_m3s: Some(10.0),
        ratio: Some(arm.ratio),
        ratio_basis: RatioBasis::EckhardtBaseflow,
        pulse: arm.days_since_peak.map(|days_since_peak| Pulse {
            onset: day,
            peak: day,
            peaked: days_since_peak > 0.0,
            peak_ratio: arm.ratio,
            end: None,
            days_since_peak,
            rise_days: 1,
            quickflow_volume_m3: 1e6,
            recession_per_day: None,
        }),
        mean_m3s: None,
        change_7d_m3s: None,
    }
}

fn conditions(as_of: DateTime<Utc>) -> Conditions {
    let change = |change_m| Some(Change { change_m, sd_m: 0.01 });
    Conditions {
        as_of,
        pool: Some(PoolCondition {
            elevation_m: 250.0,
            observed_at: as_of,
            change_1d: change(0.0),
            change_7d: change(0.0),
            change_30d: change(0.0),
            slope_7d_m_per_day: Some(0.0),
            highest_60d_m: Some(251.0),
            percentile_for_date_frac: Some(0.5),
        }),
        storage_m3: None,
        inflows: Vec::new(),
        surface: None,
        river_temps: Vec::new(),
        wind: None,
        light: None,
        sky: None,
        inputs: Vec::new(),
        gaps: Vec::new(),
    }
}

fn lake() -> Lake {
    let depth = Hypsography {
        elevation_m: vec![190.0, 250.0],
        area_m2: vec![0.0, 1.4e7],
        volume_m3: vec![0.0, 4.2e8],
        volume_given: false,
    };
    Lake {
        id: "invented".to_owned(),
        name: "Invented Reservoir".to_owned(),
        note: None,
        latitude_deg: 42.2,
        longitude_deg: -119.6,
        time_zone: chrono_tz::America::Los_Angeles,
        contact: None,
        vertical_datum: "NAVD 88".to_owned(),
        full_pool_elevation_m: 257.0,
        minimum_pool_elevation_m: 222.0,
        hypsography: Some(depth),
        zones: vec![zone("main", ZoneKind::MainBody, None)],
        stretches: Vec::new(),
        ramps: Vec::new(),
        inflows: Vec::new(),
        outlets: Vec::new(),
        hazards: Vec::new(),
        clarity: None,
        oxygen: None,
        species: Vec::new(),
        stocking: Vec::new(),
        ladder: Vec::new(),
        boat: Boat { launch_depth_m: 0.9, running_depth_m: 0.9, run_speed_m_s: 8.0, trip_h: 6.0 },
        series: Vec::new(),
    }
}

fn any_arm() -> impl Strategy<Value = Arm> {
    (4.0..27.0f64, 1.0..50.0f64, 1e4..1e7f64, 0.0..25.0f64, 0.5..12.0f64, prop::option::of(0.0..20.0f64), any::<bool>())
        .prop_map(|(surface_degc, depth_m, area_m2, river_degc, ratio, days_since_peak, closed)| Arm {
            surface_degc,
            depth_m,
            area_m2,
            river_degc,
            ratio,
            days_since_peak,
            closed,
        })
}

fn any_day() -> impl Strategy<Value = String> {
    (1u32..=365).prop_map(|day| NaiveDate::from_yo_opt(2026, day).unwrap().to_string())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn shares_sum_to_one_and_a_closed_arm_has_exactly_none(
        day in any_day(), main_degc in 4.0..27.0f64, a in any_arm(), b in any_arm()
    ) {
        let mut m = morning(&day, main_degc, &[("north", a), ("south", b)]);
        m.options.draws = 200;
        for call in [m.rainbow(), m.kings()] {
            let total: f64 = call.zones.values().map(|z| z.share).sum();
            prop_assert!((total - 1.0).abs() < 1e-9, "{total}");
            let first: f64 = call.zones.values().map(|z| z.first_prob).sum();
            prop_assert!((first - 1.0).abs() < 1e-9, "{first}");
            for z in call.zones.values() {
                prop_assert!(0.0 <= z.low && z.low <= z.high && z.high <= 1.0, "{z:?}");
                prop_assert!(z.eta.abs() <= 4.0 + 1e-12, "{z:?}");
                prop_assert!(z.fishable || z.first_prob == 0.0, "{z:?}");
            }
            for (name, arm) in [("north", a), ("south", b)] {
                let z = &call.zones[&ZoneId::new(name)];
                prop_assert_eq!(z.closed, arm.closed);
                if arm.closed {
                    prop_assert_eq!((z.share, z.low, z.high, z.fishable), (0.0, 0.0, 0.0, false));
                    prop_assert!(call.reasons.iter().all(|r| r.zone.as_str() != name));
                } else {
                    prop_assert!(z.share > 0.0);
                }
            }
        }
    }

    #[test]
    fn the_reasons_of_a_zone_add_up_to_its_log_odds(
        day in any_day(), main_degc in 4.0..27.0f64, a in any_arm(), b in any_arm()
    ) {
        let mut m = morning(&day, main_degc, &[("north", a), ("south", b)]);
        m.options.draws = 1;
        for call in [m.rainbow(), m.kings()] {
            for (id, z) in &call.zones {
                let sum: f64 = call.reasons.iter().filter(|r| &r.zone == id).map(|r| r.contribution).sum();
                prop_assert!((sum - z.eta).abs() < 1e-9, "{id}: {sum} {}", z.eta);
                let clamp = call.reasons.iter().any(|r| &r.zone == id && r.rule == "clamp");
                prop_assert_eq!(clamp, z.clamped);
            }
        }
    }

    #[test]
    fn more_of_a_pulse_in_season_never_lowers_the_rainbows_share_of_the_arm(
        a in any_arm(), b in any_arm(), less in 1.0..8.0f64, more in 0.0..4.0f64, days in 0.0..15.0f64
    ) {
        let of = |ratio: f64| {
            let north = Arm { ratio, days_since_peak: Some(days), closed: false, ..a };
            share(&morning("2026-03-12", 9.0, &[("north", north), ("south", b)]).rainbow(), "north")
        };
        prop_assert!(of(less + more) >= of(less) - 1e-12);
    }

    #[test]
    fn the_order_of_arms_in_the_file_changes_no_share(
        day in any_day(), main_degc in 4.0..27.0f64, a in any_arm(), b in any_arm()
    ) {
        for species in ["rainbow-trout", "landlocked-chinook"] {
            let species = builtin(species).unwrap();
            let one = morning(&day, main_degc, &[("north", a), ("south", b)]).call(&species);
            let two = morning(&day, main_degc, &[("south", b), ("north", a)]).call(&species);
            for (zone, share) in by_zone(&one) {
                prop_assert!((share - by_zone(&two)[&zone]).abs() < 1e-12, "{zone}");
            }
            prop_assert_eq!(one.likeliest_fishable, two.likeliest_fishable);
        }
    }

    #[test]
    fn exchanging_two_arms_exchanges_their_shares(
        day in any_day(), main_degc in 4.0..27.0f64, a in any_arm(), b in any_arm()
    ) {
        let one = morning(&day, main_degc, &[("north", a), ("south", b)]).rainbow();
        let two = morning(&day, main_degc, &[("north", b), ("south", a)]).rainbow();
        prop_assert!((share(&one, "north") - share(&two, "south")).abs() < 1e-12);
        prop_assert!((share(&one, "south-river") - share(&two, "north-river")).abs() < 1e-12);
    }
}

#[test]
fn identical_arms_have_equal_shares_and_share_the_first_place() {
    let call = morning("2026-03-12", 9.0, &[("north", ARM), ("south", ARM)]).rainbow();
    let (north, south) = (&call.zones[&ZoneId::new("north")], &call.zones[&ZoneId::new("south")]);
    assert!((north.share - south.share).abs() < 1e-12);
    assert_eq!(north.first_prob, south.first_prob);
    assert!(north.first_prob > 0.0);
}

#[test]
fn a_seed_gives_the_same_call_again_and_another_seed_nearly_the_same() {
    let m = morning("2026-03-12", 9.0, &[("north", ARM)]);
    assert_eq!(m.rainbow(), m.rainbow());
    let mut other = m.clone();
    other.options.seed = 8;
    let difference = (share(&m.rainbow(), "north") - share(&other.rainbow(), "north")).abs();
    // The standard error of a mean of 2000 shares with a spread of 0.2 is 0.0045: five of them.
    assert!(difference > 0.0 && difference < 0.0225, "{difference}");
}

#[test]
fn a_lake_without_arms_is_main_body_against_its_river() {
    let mut m = morning("2026-03-12", 9.0, &[]);
    m.lake.zones.push(zone("creek", ZoneKind::River, Some("main")));
    m.lake.inflows.push(Inflow { enters: ZoneId::new("main"), ..inflow("creek") });
    m.water.rivers.push(RiverWater { inflow: InflowId::new("creek"), temp_degc: vec![8.0; 10], measured: true });
    m.conditions.inflows.push(flow("creek", ARM, m.conditions.as_of));
    let call = m.rainbow();
    assert_eq!(call.zones.len(), 2);
    assert_eq!(call.verdict, Verdict::Likeliest { zone: ZoneId::new("main"), first_prob: 1.0 });
    assert!(share(&call, "creek") > 0.05 && share(&call, "creek") < 0.5, "{}", share(&call, "creek"));
    assert!(call.gaps.iter().all(|g| !g.what.contains("river_temp")), "{:?}", call.gaps);
}

#[test]
fn on_one_morning_the_call_is_an_arm_and_on_another_the_main_body() {
    let pulse = Arm { ratio: 6.0, days_since_peak: Some(2.0), depth_m: 40.0, area_m2: 8e6, ..ARM };
    let spring = morning("2026-03-12", 9.0, &[("north", pulse), ("south", ARM)]).rainbow();
    assert_eq!(spring.likeliest_fishable, ZoneId::new("north"), "{:#?}", spring.zones);
    let warm = Arm { surface_degc: 26.0, depth_m: 6.0, river_degc: 22.0, ..ARM };
    let summer = morning("2025-07-24", 25.0, &[("north", warm), ("south", warm)]).kings();
    assert!(matches!(&summer.verdict, Verdict::Likeliest { zone, .. } if zone.as_str() == "main"), "{:?}", summer.verdict);
}

#[test]
fn arms_that_differ_little_are_either_place() {
    let pulse = Arm { ratio: 6.0, days_since_peak: Some(2.0), depth_m: 40.0, area_m2: 8e6, ..ARM };
    let call = morning("2026-03-12", 9.0, &[("north", pulse), ("south", pulse)]).rainbow();
    let Verdict::EitherPlace { zones, first_prob } = &call.verdict else { panic!("{:?}", call.verdict) };
    assert_eq!(zones.len(), 2);
    assert_eq!(*first_prob, call.zones[&zones[0]].first_prob);
    assert!(*first_prob < 0.6);
}

#[test]
fn a_missing_river_temperature_is_named_left_out_and_widens_the_interval() {
    let arm = Arm { ratio: 5.0, days_since_peak: Some(1.0), ..ARM };
    let known = morning("2026-03-12", 9.0, &[("north", arm)]);
    let mut unknown = known.clone();
    unknown.water.rivers.clear();
    let (known, unknown) = (known.rainbow(), unknown.rainbow());
    let gap = unknown.gaps.iter().find(|g| g.what == "river_temp:north").expect("the gap is named");
    assert!(format!("{:?}", gap.consequence).contains("R4"), "{gap:?}");
    let reasons = |call: &SpeciesCall| call.reasons.iter().any(|r| r.rule == "R4" && r.zone.as_str() == "north");
    assert!(reasons(&known) && !reasons(&unknown));
    assert!(known.gaps.iter().all(|g| !g.what.starts_with("river_temp")));
    // Against a morning on which the rule is known to be silent: same centre, wider interval.
    let silent = morning("2026-03-12", 9.0, &[("north", Arm { river_degc: 14.0, ..arm })]).rainbow();
    let width = |call: &SpeciesCall| {
        let z = &call.zones[&ZoneId::new("north")];
        ((z.high / (1.0 - z.high)).ln() - (z.low / (1.0 - z.low)).ln(), z.eta)
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
    assert!(figures.iter().all(|f| !f.contains("R4") && !f.contains("R5a") && !f.contains("R3")), "{figures:?}");
}

#[test]
fn without_hypsography_volumes_are_left_out_and_the_band_stands() {
    let mut m = morning("2025-07-24", 24.0, &[("north", ARM)]);
    m.lake.hypsography = None;
    m.water.zones.iter_mut().for_each(|z| z.area_m2 = None);
    let call = m.kings();
    assert!(call.gaps.iter().any(|g| g.what == "hypsography"), "{:?}", call.gaps);
    assert!(call.reasons.iter().all(|r| r.rule != "R1"));
    let (top, best, bottom) = (call.band_top_m.unwrap(), call.band_best_m.unwrap(), call.band_bottom_m.unwrap());
    assert!(top <= best && best <= bottom, "{top} {best} {bottom}");
}

#[test]
fn without_any_water_there_is_still_a_call_and_no_band() {
    let mut m = morning("2025-07-24", 24.0, &[("north", ARM)]);
    m.water = Water { members: 0, zones: Vec::new(), rivers: Vec::new(), ..m.water };
    m.conditions.pool = None;
    m.conditions.inflows.clear();
    let call = m.kings();
    let total: f64 = call.zones.values().map(|z| z.share).sum();
    assert!((total - 1.0).abs() < 1e-9);
    assert_eq!((call.band_top_m, call.band_bottom_m, call.near_surface_suitability), (None, None, None));
    for topic in ["depth_band", "water_temp", "river_temp:north", "level_change_7d"] {
        assert!(call.gaps.iter().any(|g| g.what == topic), "{topic}: {:?}", call.gaps);
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
    m.water.zones[0].basis = ProfileBasis::Measured { observed_at: m.conditions.as_of };
    assert!(width(m.kings()) < thumb);
}

#[test]
fn kings_in_autumn_are_a_mixture_of_a_part_that_runs_and_one_that_does_not() {
    let arm = Arm { river_degc: 10.0, ..ARM };
    let m = morning("2025-10-09", 17.0, &[("north", arm)]);
    let call = m.kings();
    let z = &call.zones[&ZoneId::new("north")];
    let (mature, immature) = (z.mature_share.unwrap(), z.immature_share.unwrap());
    assert!(mature > z.share && z.share > immature, "{mature} {} {immature}", z.share);
    assert!(call.reasons.iter().any(|r| r.rule == "maturity" && r.contribution < 0.0));
    let with = |mature_frac| {
        let mut m = m.clone();
        m.lake.species = vec![LakeSpecies { id: SpeciesId::new("landlocked-chinook"), mature_frac: Some(mature_frac) }];
        share(&m.kings(), "north")
    };
    assert!((with(1.0) - mature).abs() < 1e-12 && (with(0.0) - immature).abs() < 1e-12);
    assert!(with(0.2) < with(0.8));
    let spring = morning("2026-04-20", 12.0, &[("north", arm)]).kings();
    assert_eq!(spring.zones[&ZoneId::new("north")].mature_share, None, "the parts do not differ out of season");
}

#[test]
fn the_bound_on_log_odds_is_shown_when_it_bites() {
    let mut m = morning("2025-07-24", 17.0, &[("north", Arm { depth_m: 2.0, area_m2: 1e3, river_degc: 25.0, ..ARM })]);
    m.water.zones[1].temp_degc.iter_mut().for_each(|member| member.fill(26.5));
    let call = m.rainbow();
    let z = &call.zones[&ZoneId::new("north")];
    assert!(z.clamped && z.eta == -4.0, "{z:?}");
    let clamp = call.reasons.iter().find(|r| r.rule == "clamp" && r.zone.as_str() == "north").unwrap();
    assert!(clamp.contribution > 0.0 && clamp.drivers["eta_before"] < -4.0);
}
