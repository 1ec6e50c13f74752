//! The analysed water of the demonstration lake: taken up again, made stale, corrected, kept, and replaced by the quick model.

use std::sync::OnceLock;

use chrono::{DateTime, Duration, NaiveDate, Utc};
use plungeline::analysis::{
    AdvanceOptions, Advanced, AnalysisError, Begun, MorningSource, advance, inputs_by_day, morning_water,
};
use plungeline::archive::analysed::{AnalysedStates, hash_of};
use plungeline::column::{PartKind, ProfileBasis, WayKind, ZoneWater};
use plungeline::lake::{Cadence, Lake, SeriesId, ZoneId};
use plungeline::series::{Consequence, SeriesKey, SeriesSet};
use plungeline::sources::csv::WaterReading;

use super::stored::demonstration;

pub(super) struct World {
    pub lake: Lake,
    pub set: SeriesSet,
    folder: tempfile::TempDir,
    /// The cold run whose states lie in the folder.
    pub cold: Advanced,
}

pub(super) fn options(own: &[WaterReading]) -> AdvanceOptions<'_> {
    AdvanceOptions {
        lake_file: hash_of(b"the demonstration lake"),
        own,
        ahead_days: 0,
    }
}

pub(super) fn world() -> &'static World {
    static WORLD: OnceLock<World> = OnceLock::new();
    WORLD.get_or_init(|| {
        let (lake, set) = demonstration();
        let folder = tempfile::tempdir().unwrap();
        let states = AnalysedStates::new(folder.path());
        let cold = advance(&lake, &set, None, Some(&states), &options(&[])).unwrap();
        World {
            lake,
            set,
            folder,
            cold,
        }
    })
}

/// The states of the cold run in a folder of one's own.
fn states_of_its_own() -> (tempfile::TempDir, AnalysedStates) {
    let folder = tempfile::tempdir().unwrap();
    for file in std::fs::read_dir(world().folder.path()).unwrap() {
        let file = file.unwrap().path();
        std::fs::copy(&file, folder.path().join(file.file_name().unwrap())).unwrap();
    }
    let states = AnalysedStates::new(folder.path());
    (folder, states)
}

fn temps(advanced: &Advanced) -> Vec<u64> {
    let lakes = advanced.ensemble.lakes.iter();
    let columns = lakes.flat_map(|lake| lake.network().columns());
    columns
        .flat_map(|column| column.temp_degc.iter().flatten().map(|t| t.to_bits()))
        .collect()
}

#[test]
fn a_cold_run_ends_with_the_last_whole_hour_and_keeps_ten_days_and_the_months_ends() {
    let World { cold, folder, .. } = world();
    assert_eq!(cold.begun, Begun::Cold);
    assert_eq!(cold.at, "2025-10-09T11:00:00Z".parse::<DateTime<Utc>>().unwrap());
    let mut days: Vec<String> = std::fs::read_dir(folder.path())
        .unwrap()
        .map(|file| file.unwrap().file_name().to_string_lossy()[..10].to_owned())
        .collect();
    days.sort();
    // From 29 September to 8 October every day: the run began on 15 December 2024 (printed by the brief).
    let months = [
        "2024-12-31",
        "2025-01-31",
        "2025-02-28",
        "2025-03-31",
        "2025-04-30",
        "2025-05-31",
        "2025-06-30",
        "2025-07-31",
        "2025-08-31",
    ];
    assert_eq!(days[..9], months);
    assert_eq!((days.len(), cold.kept), (19, 19));
    assert!(cold.taken_up > 100, "{}", cold.taken_up);
    assert!(cold.told.is_empty(), "{:?}", cold.told);
}

#[test]
fn a_run_that_is_taken_up_is_the_cold_run_to_the_bit() {
    let World { lake, set, cold, .. } = world();
    let (_folder, states) = states_of_its_own();
    let again = advance(lake, set, None, Some(&states), &options(&[])).unwrap();
    let day = NaiveDate::from_ymd_opt(2025, 10, 8).unwrap();
    assert_eq!((again.begun, again.hours), (Begun::State { day }, 11));
    assert!(temps(&again) == temps(cold), "the members differ");
}

#[test]
fn a_value_revised_or_late_costs_the_states_from_its_day_on() {
    let World { lake, set, .. } = world();
    let (_folder, states) = states_of_its_own();
    let mut revised = set.clone();
    let key = SeriesKey {
        id: SeriesId::new("air-temp"),
        cadence: Cadence::Continuous,
    };
    let hour: DateTime<Utc> = "2025-10-05T20:00:00Z".parse().unwrap();
    let rows = revised.observations.get_mut(&key).unwrap();
    rows.iter_mut().find(|row| row.time == hour).unwrap().value = Some(10.25);
    let again = advance(lake, &revised, None, Some(&states), &options(&[])).unwrap();
    let day = NaiveDate::from_ymd_opt(2025, 10, 4).unwrap();
    assert_eq!(again.begun, Begun::State { day });
    assert_eq!(again.told.len(), 4, "{:?}", again.told); // 5 to 8 October
    // The states of those days were made anew.
    let third = advance(lake, &revised, None, Some(&states), &options(&[])).unwrap();
    let day = NaiveDate::from_ymd_opt(2025, 10, 8).unwrap();
    assert_eq!((third.begun, third.told.len()), (Begun::State { day }, 0));
}

/// A reading of one zone at a depth.
fn reading(
    zone: &str,
    time: &str,
    depth_m: f64,
    temp_degc: Option<f64>,
    oxygen_mg_l: Option<f64>,
) -> WaterReading {
    WaterReading {
        line: 2,
        time: time.parse().unwrap(),
        is_day: false,
        zone: zone.to_owned(),
        depth_m,
        temp_degc,
        temp_error_degc: temp_degc.map(|_| 0.2),
        oxygen_mg_l,
        oxygen_error_mg_l: oxygen_mg_l.map(|_| 0.2),
    }
}

#[test]
fn an_anglers_reading_moves_the_water_toward_it_and_is_told() {
    let World { lake, set, .. } = world();
    let (_folder, states) = states_of_its_own();
    let morning = |own: &[WaterReading]| {
        let source = MorningSource {
            lake_file: hash_of(b"the demonstration lake"),
            own,
            states: Some(&states),
            forage: &[],
            ahead: true,
        };
        morning_water(lake, set, &source)
    };
    let mean = |zones: &[ZoneWater], oxygen: bool| {
        let zone = zones.iter().find(|z| z.zone.as_str() == "sorrel").unwrap();
        let by_member = if oxygen {
            zone.oxygen_mg_l.as_ref().unwrap()
        } else {
            &zone.temp_degc
        };
        by_member.iter().map(|m| m[10]).sum::<f64>() / by_member.len() as f64
    };
    let before = morning(&[]);
    let (temp, oxygen) = (mean(&before.water.zones, false), mean(&before.water.zones, true));
    let own = [
        reading("sorrel", "2025-10-08T15:20:00Z", 10.0, Some(temp - 1.0), None),
        reading("sorrel", "2025-10-08T15:20:00Z", 10.0, None, Some(oxygen - 1.0)),
        // After the clock: not known yet.
        reading("sorrel", "2025-10-09T15:20:00Z", 10.0, Some(temp - 9.0), None),
    ];
    let after = morning(&own);
    let (colder, poorer) = (mean(&after.water.zones, false), mean(&after.water.zones, true));
    // Toward it, and not beyond.
    assert!(colder < temp - 0.02 && colder > temp - 1.0, "{temp} {colder}");
    assert!(
        poorer < oxygen - 0.1 && poorer > oxygen - 1.0,
        "{oxygen} {poorer}"
    );
    let (was, is) = (before.water.columns.unwrap(), after.water.columns.unwrap());
    assert_eq!((was.oxygen_measured, is.oxygen_measured), (false, true));
    assert_eq!(is.readings, was.readings + 2);
    let sorrel = after
        .water
        .zones
        .iter()
        .find(|z| z.zone.as_str() == "sorrel")
        .unwrap();
    let corrected_at = Some("2025-10-08T15:20:00Z".parse().unwrap());
    assert_eq!(
        sorrel.basis,
        ProfileBasis::Columns {
            corrected_at,
            surface_measured: false
        }
    );
}

#[test]
fn a_second_brief_of_the_hour_has_the_same_water_and_runs_nothing() {
    let World { lake, set, .. } = world();
    let (folder, states) = states_of_its_own();
    let source = MorningSource {
        lake_file: hash_of(b"the demonstration lake"),
        own: &[],
        states: Some(&states),
        forage: &[],
        ahead: true,
    };
    let first = morning_water(lake, set, &source);
    // Without its states a run would begin cold, and be told.
    for file in std::fs::read_dir(folder.path()).unwrap() {
        let path = file.unwrap().path();
        if path.extension().is_some_and(|e| e == "state") {
            std::fs::remove_file(path).unwrap();
        }
    }
    let second = morning_water(lake, set, &source);
    assert_eq!(first.water, second.water);
    let left = std::fs::read_dir(folder.path()).unwrap().count();
    assert_eq!(left, 1, "states were made anew");
    // What is kept is of that hour alone.
    let mut later = set.clone();
    later.as_of += Duration::hours(1);
    assert!(
        morning_water(lake, &later, &source).water.columns.unwrap().run_to
            > second.water.columns.unwrap().run_to
    );
}

#[test]
fn the_parts_of_every_zone_add_up_to_it_and_the_sorrel_sinks_in_its_arm() {
    let World { lake, set, .. } = world();
    let (_folder, states) = states_of_its_own();
    let source = MorningSource {
        lake_file: hash_of(b"the demonstration lake"),
        own: &[],
        states: Some(&states),
        forage: &[],
        ahead: true,
    };
    let water = morning_water(lake, set, &source).water;
    assert_eq!(water.zones.len(), 3);
    let mut river_m2 = 0.0;
    for zone in &water.zones {
        assert!(!zone.closed);
        let area = zone.area_m2.as_ref().unwrap();
        let kinds: Vec<&PartKind> = zone.parts.iter().map(|part| &part.kind).collect();
        assert!(zone.zone.as_str() == "main" || kinds.len() > 1, "{kinds:?}");
        for part in &zone.parts {
            if matches!(part.kind, PartKind::River { .. }) {
                river_m2 += part.area_m2[0];
            }
        }
        if zone.parts.is_empty() {
            continue;
        }
        // Areas of a column are slopes of the volume, those of a zone its table's: of trapezoids 3 % apart at the surface.
        let sum: f64 = zone.parts.iter().map(|part| part.area_m2[0]).sum();
        assert!(
            (sum / area[0] - 1.0).abs() < 0.03,
            "{}: {sum} {}",
            zone.zone,
            area[0]
        );
    }
    assert!(river_m2 > 0.0);
    let sorrel = &water.river_ways[0];
    assert_eq!(sorrel.members.len(), water.members);
    for way in &sorrel.members {
        assert_eq!(
            (way.kind, &way.line_zone),
            (WayKind::Sinks, &ZoneId::new("sorrel"))
        );
        // Between mouth and head of the arm, 9 mi.
        assert!(
            way.line_m.is_some_and(|m| (0.0..14_500.0).contains(&m)),
            "{way:?}"
        );
    }
}

#[test]
fn without_a_table_of_areas_the_quick_model_stands_in_and_says_so() {
    let World { lake, set, .. } = world();
    let mut bare = lake.clone();
    bare.hypsography = None;
    let source = MorningSource {
        lake_file: hash_of(b"bare"),
        own: &[],
        states: None,
        forage: &[],
        ahead: true,
    };
    let water = morning_water(&bare, set, &source).water;
    assert!(water.columns.is_none() && !water.zones.is_empty());
    let gap = water
        .gaps
        .iter()
        .find(|gap| gap.what == "water by depth and arm")
        .unwrap();
    let Consequence::StandIn { stand_in } = &gap.consequence else {
        panic!("{gap:?}")
    };
    assert!(
        stand_in.contains("quick model") && stand_in.contains("[hypsography]"),
        "{stand_in}"
    );
}

#[test]
fn what_prevents_a_run_is_named_with_what_would_mend_it() {
    let World { lake, set, .. } = world();
    let run = |lake: &Lake, set: &SeriesSet, level_m: Option<f64>, own: &[WaterReading]| {
        let (_folder, states) = states_of_its_own();
        advance(lake, set, level_m, Some(&states), &options(own)).unwrap_err()
    };
    let without = |ids: &[&str]| {
        let mut set = set.clone();
        set.observations.retain(|key, _| !ids.contains(&key.id.as_str()));
        set
    };
    let mut bare = lake.clone();
    bare.hypsography = None;
    let error = run(&bare, set, None, &[]);
    assert!(matches!(error, AnalysisError::Setup(_)), "{error}");
    let error = run(lake, &without(&["air-temp"]), None, &[]);
    assert!(matches!(error, AnalysisError::NoWinter), "{error}");
    let error = run(lake, &without(&["wind-speed"]), None, &[]);
    assert!(matches!(error, AnalysisError::Forcing(_)), "{error}");
    let no_level = without(&["pool", "storage"]);
    let error = run(lake, &no_level, None, &[]);
    assert!(matches!(error, AnalysisError::NoLevel), "{error}");
    let error = run(lake, &no_level, Some(9999.0), &[]);
    assert!(matches!(error, AnalysisError::Level { .. }), "{error}");
    // A level over the top of the table, 259.7 m.
    let mut flooded = set.clone();
    for (_, rows) in flooded
        .observations
        .iter_mut()
        .filter(|(key, _)| key.id.as_str() == "pool")
    {
        let recent = rows
            .iter_mut()
            .rev()
            .take_while(|row| set.as_of - row.time < Duration::days(4));
        recent.for_each(|row| row.value = Some(300.0));
    }
    let error = run(lake, &flooded, None, &[]);
    assert!(matches!(error, AnalysisError::Run(_)), "{error}");
    // A reading whose error is none: the reader of the table refuses such a row, a caller may not.
    let mut own = reading("main", "2025-10-08T15:20:00Z", 10.0, Some(18.0), None);
    own.temp_error_degc = Some(0.0);
    let error = run(lake, set, None, &[own]);
    assert!(matches!(error, AnalysisError::Readings(_)), "{error}");
}

#[test]
fn the_chain_of_inputs_tells_revised_late_and_own_values_from_their_day_on() {
    let World { set, .. } = world();
    let start: DateTime<Utc> = "2025-09-01T00:00:00Z".parse().unwrap();
    let chain = inputs_by_day(set, &[], start);
    assert_eq!(chain.len(), 39); // 1 September to 9 October
    let day = |d: u32| NaiveDate::from_ymd_opt(2025, 9, d).unwrap();
    let own = [
        reading("main", "2025-09-10T15:00:00Z", 1.0, Some(20.0), None),
        reading("main", "2025-09-10T15:00:00Z", 2.0, Some(19.0), None),
    ];
    let with_own = inputs_by_day(set, &own, start);
    assert_eq!(with_own[&day(9)], chain[&day(9)]);
    assert!((10..=30).all(|d| with_own[&day(d)] != chain[&day(d)]));
    let turned = [own[1].clone(), own[0].clone()];
    assert_eq!(inputs_by_day(set, &turned, start), with_own);
    let mut judged = set.clone();
    let key = SeriesKey {
        id: SeriesId::new("pool"),
        cadence: Cadence::Daily,
    };
    let rows = judged.observations.get_mut(&key).unwrap();
    let row = rows
        .iter_mut()
        .find(|row| row.time.date_naive() == day(20))
        .unwrap();
    row.flag = plungeline::series::Flag::Fail;
    let judged = inputs_by_day(&judged, &[], start);
    assert_eq!(judged[&day(19)], chain[&day(19)]);
    assert!(judged[&day(20)] != chain[&day(20)]);
}
