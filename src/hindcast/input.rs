//! From a lake file and its tables to what drives the columns, and what they are compared with.

use std::cell::RefCell;
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::rc::Rc;

use chrono::{DateTime, Duration, NaiveDate, NaiveTime, Utc};

use super::error::InputError;
use super::hypsography::read_hypsography;
use super::note::InputNote;
use super::profiles::observed;
use super::tables::{add_weather, flow_records, note_faults};
use crate::column::forcing::{
    FlowRecord, Forcing, RiverFlow, RiverTracks, Site, Steps, WeatherRecord, level_steps, release_steps,
    river_steps, weather_steps,
};
use crate::lake::{Hindcast, InflowFlow, InflowId, Lake, ProfileWhat, RiverWhat};
use crate::sources::csv::read_days;
use crate::sources::reply::FILE_CAP_BYTES;
use crate::sources::{SourceError, read_file};

/// Length of a step, s.
const STEP_S: f64 = 3600.0;
/// Steps in a day.
const STEPS_A_DAY: i64 = 24;

/// One observation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observed {
    /// When.
    pub time: DateTime<Utc>,
    /// Depth below the surface of the day.
    pub depth_m: f64,
    /// Water temperature, degC, or dissolved oxygen, mg/L.
    pub value: f64,
}

/// One winter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Winter {
    /// First day under ice.
    pub first: Option<NaiveDate>,
    /// Last day.
    pub last: Option<NaiveDate>,
}

/// What a hindcast runs on, and what it is compared with.
#[derive(Debug, Clone, PartialEq)]
pub struct HindcastInput {
    /// The lake, its hypsography read.
    pub lake: Lake,
    /// What drives the columns, in steps of an hour, from the first step of the spin-up on.
    pub forcing: Forcing,
    /// Level at the first step.
    pub start_elevation_m: f64,
    /// Instant from which on observations are given: the end of the spin-up.
    pub compare_from: DateTime<Utc>,
    /// An observation no deeper counts as one of the surface.
    pub surface_depth_m: f64,
    /// Parameters that the lake file fixes: name and value.
    pub fixed: Vec<(String, f64)>,
    /// Water temperatures, degC, sorted by time and depth, each time and depth once.
    pub temperatures: Vec<Observed>,
    /// Dissolved oxygen, mg/L, likewise.
    pub oxygen: Vec<Observed>,
    /// Winters.
    pub ice: Vec<Winter>,
    /// What is not as it was given.
    pub notes: Vec<InputNote>,
}

/// Tables by their path, each opened once.
pub(super) struct Files<'f> {
    open: &'f dyn Fn(&Path) -> Result<Vec<u8>, SourceError>,
    held: RefCell<HashMap<PathBuf, Rc<Vec<u8>>>>,
}

impl Files<'_> {
    pub fn bytes(&self, file: &Path) -> Result<Rc<Vec<u8>>, SourceError> {
        if let Some(bytes) = self.held.borrow().get(file) {
            return Ok(Rc::clone(bytes));
        }
        let bytes = Rc::new((self.open)(file)?);
        self.held.borrow_mut().insert(file.to_owned(), Rc::clone(&bytes));
        Ok(bytes)
    }
}

/// The input of `lake`, its tables opened from `folder`: that of the lake file, or one named on the command line.
///
/// # Errors
/// [`InputError`].
pub fn load_hindcast(lake: Lake, folder: &Path) -> Result<HindcastInput, InputError> {
    assemble(lake, &|file| read_file(&folder.join(file), FILE_CAP_BYTES))
}

/// The input of `lake`, with `open` to give the bytes of a table by its path in the lake file.
///
/// # Errors
/// [`InputError`].
pub fn assemble(
    mut lake: Lake,
    open: &dyn Fn(&Path) -> Result<Vec<u8>, SourceError>,
) -> Result<HindcastInput, InputError> {
    let Some(hindcast) = lake.hindcast.clone() else {
        return Err(InputError::NotDescribed { lake: lake.id });
    };
    let files = Files {
        open,
        held: RefCell::new(HashMap::new()),
    };
    let mut notes = Vec::new();
    if let Some(table) = &lake.hypsography_table {
        lake.hypsography = Some(read_hypsography(table, &lake, &files, &mut notes)?);
    }
    let compare_from = hindcast.start.and_time(NaiveTime::MIN).and_utc();
    let end = hindcast.end.and_time(NaiveTime::MIN).and_utc() + Duration::days(1);
    let start = compare_from - Duration::days(i64::from(hindcast.spin_up_days));
    let steps = Steps {
        start,
        step_s: STEP_S,
        // The check of the lake file makes sure that the end does not come before the start.
        count: ((end - start).num_days().max(0) * STEPS_A_DAY) as usize,
    };
    let start_elevation_m = hindcast.start_elevation_m.unwrap_or_else(|| {
        notes.push(InputNote::StartsFull);
        lake.full_pool_elevation_m
    });

    let mut record = WeatherRecord::new();
    for table in &hindcast.weather {
        add_weather(table, steps, &files, &mut record, &mut notes)?;
    }
    let site = Site {
        latitude_deg: lake.latitude_deg,
        longitude_deg: lake.longitude_deg,
        elevation_m: lake.full_pool_elevation_m,
    };
    let (weather, weather_notes) = weather_steps(&record, site, steps)?;
    drop(record);
    notes.extend(weather_notes.into_iter().map(InputNote::Weather));

    let forcing = Forcing {
        start,
        step_s: STEP_S,
        weather,
        rivers: rivers(&lake, &hindcast, steps, &files, &mut notes)?,
        release_m3s: releases(&lake, &hindcast, steps, &files, &mut notes)?,
        level_m: levels(&hindcast, start_elevation_m, steps, &files, &mut notes)?,
    };
    let (mut temperatures, mut oxygen) = (Vec::new(), Vec::new());
    for table in &hindcast.profiles {
        let found = observed(table, (compare_from, end), &files, &mut notes)?;
        match table.what {
            ProfileWhat::WaterTemp => temperatures.extend(found),
            ProfileWhat::Oxygen => oxygen.extend(found),
        }
    }
    for list in [&mut temperatures, &mut oxygen] {
        list.sort_by(|a, b| a.time.cmp(&b.time).then(a.depth_m.total_cmp(&b.depth_m)));
    }
    let ice = winters(&hindcast, &files, &mut notes)?;
    Ok(HindcastInput {
        lake,
        forcing,
        start_elevation_m,
        compare_from,
        surface_depth_m: hindcast.surface_depth_m,
        fixed: hindcast.fixed,
        temperatures,
        oxygen,
        ice,
        notes,
    })
}

/// Rivers in the order of the lake's inflows; none where no table has one.
fn rivers(
    lake: &Lake,
    hindcast: &Hindcast,
    steps: Steps,
    files: &Files<'_>,
    notes: &mut Vec<InputNote>,
) -> Result<Vec<Vec<RiverFlow>>, InputError> {
    if hindcast.inflows.is_empty() {
        return Ok(Vec::new());
    }
    let mut known: HashMap<&InflowId, Vec<RiverFlow>> = HashMap::new();
    for inflow in &lake.inflows {
        if let Some(tracks) = river_tracks(&inflow.id, hindcast, steps, files, notes)? {
            let mut flow_notes = Vec::new();
            let flow = river_steps(inflow.id.as_str(), &tracks, steps, &mut flow_notes)?;
            notes.extend(flow_notes.into_iter().map(InputNote::Flow));
            known.insert(&inflow.id, flow);
        }
    }
    let mut all = Vec::new();
    for inflow in &lake.inflows {
        let flow = match (known.get(&inflow.id), &inflow.flow) {
            (Some(flow), _) => flow.clone(),
            (None, InflowFlow::FromGauge { gauge, factor }) if known.contains_key(gauge) => known[gauge]
                .iter()
                .map(|step| RiverFlow {
                    discharge_m3s: factor * step.discharge_m3s,
                    ..*step
                })
                .collect(),
            _ => {
                notes.push(InputNote::RiverWithoutTable(inflow.id.clone()));
                let dry = RiverFlow {
                    discharge_m3s: 0.0,
                    temp_degc: 0.0,
                    oxygen_mg_l: None,
                };
                vec![dry; steps.count]
            }
        };
        all.push(flow);
    }
    Ok(all)
}

/// The records of a river from all of its tables; `None` where there is none.
fn river_tracks(
    id: &InflowId,
    hindcast: &Hindcast,
    steps: Steps,
    files: &Files<'_>,
    notes: &mut Vec<InputNote>,
) -> Result<Option<RiverTracks>, InputError> {
    let (mut discharge, mut temp, mut oxygen) = (None, None, None);
    for table in hindcast.inflows.iter().filter(|table| &table.inflow == id) {
        let columns: Vec<_> = table
            .columns
            .iter()
            .map(|c| (c.column.as_str(), c.scale))
            .collect();
        let how = (&table.table, table.rows, table.longest_gap_s);
        let records = flow_records(how, &columns, steps, files, notes)?;
        for (column, record) in table.columns.iter().zip(records) {
            match column.what {
                RiverWhat::Discharge => discharge = Some(record),
                RiverWhat::Temp => temp = Some(record),
                RiverWhat::Oxygen => oxygen = Some(record),
            }
        }
    }
    // The check of the lake file refuses a river with one of the two alone.
    Ok(discharge.zip(temp).map(|(discharge, temp)| RiverTracks {
        discharge,
        temp,
        oxygen,
    }))
}

/// Releases in the order of the lake's outlets; none where no table has one.
fn releases(
    lake: &Lake,
    hindcast: &Hindcast,
    steps: Steps,
    files: &Files<'_>,
    notes: &mut Vec<InputNote>,
) -> Result<Vec<Vec<f64>>, InputError> {
    if hindcast.releases.is_empty() {
        return Ok(Vec::new());
    }
    let mut all = Vec::new();
    for outlet in &lake.outlets {
        let Some(table) = hindcast.releases.iter().find(|table| table.outlet == outlet.id) else {
            notes.push(InputNote::OutletWithoutTable(outlet.id.clone()));
            all.push(vec![0.0; steps.count]);
            continue;
        };
        let how = (&table.table, table.rows, table.longest_gap_s);
        let records = flow_records(how, &[(&table.column, table.scale)], steps, files, notes)?;
        let mut flow_notes = Vec::new();
        for record in records {
            all.push(release_steps(&outlet.id, &record, steps, &mut flow_notes)?);
        }
        notes.extend(flow_notes.into_iter().map(InputNote::Flow));
    }
    Ok(all)
}

fn levels(
    hindcast: &Hindcast,
    start_elevation_m: f64,
    steps: Steps,
    files: &Files<'_>,
    notes: &mut Vec<InputNote>,
) -> Result<Vec<f64>, InputError> {
    if hindcast.hold_level {
        notes.push(InputNote::LevelHeld {
            elevation_m: start_elevation_m,
        });
        return Ok(vec![start_elevation_m; steps.count]);
    }
    let Some(table) = &hindcast.level else {
        return Ok(Vec::new());
    };
    let scale = crate::lake::Scale {
        offset: table.scale.offset + table.datum_offset_m,
        ..table.scale
    };
    let how = (&table.table, table.rows, table.longest_gap_s);
    let records: Vec<FlowRecord> = flow_records(how, &[(&table.column, scale)], steps, files, notes)?;
    let mut flow_notes = Vec::new();
    let mut level_m = Vec::new();
    for record in &records {
        level_m = level_steps(record, steps, &mut flow_notes)?;
    }
    notes.extend(flow_notes.into_iter().map(InputNote::Flow));
    Ok(level_m)
}

fn winters(
    hindcast: &Hindcast,
    files: &Files<'_>,
    notes: &mut Vec<InputNote>,
) -> Result<Vec<Winter>, InputError> {
    let Some(table) = &hindcast.ice else {
        return Ok(Vec::new());
    };
    let bytes = files.bytes(&table.file)?;
    let (rows, faults) =
        read_days(&bytes, [&table.first, &table.last], &table.missing).map_err(|fault| InputError::Read {
            file: table.file.clone(),
            fault,
        })?;
    note_faults(&table.file, faults.len(), faults.first(), notes);
    Ok(rows
        .into_iter()
        .map(|(first, last)| Winter { first, last })
        .collect())
}
