//! The lake cut open along its arms on a morning: SVG, PNG and JSON, from a store.
//!
//!     cargo run --example section -- --demo --store DIR --lake config/lakes/harrow-gap.toml --as-of 2025-09-25T04:30 --out DIR
//!
//! `--store` is the folder of a store. With `--demo` the store of the first demonstration morning at or after `--as-of` is laid
//! below it, unless it is there, and the run ends at `--as-of` all the same: nothing later is used. `--metric` draws
//! in metres, kilometres and degC.
//!
//! The columns start isothermal in the last winter that lies nine months back, eight members with factors of their own, and
//! are driven by what the store knows of weather, rivers, releases and level. Nothing corrects them on the way.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};

use chrono::{DateTime, Utc};
use plungeline::clock::LakeClock;
use plungeline::column::assimilate::{FactorSpread, draw_factors};
use plungeline::column::forcing::Forcing;
use plungeline::column::reservoir::{
    DriveBuffer, Reservoir, ReservoirSetup, Section, SectionLayer, section_of,
};
use plungeline::column::stored::{StoredOptions, cold_start, stored_forcing};
use plungeline::faces::picture::{SectionPicture, render_png, render_svg, section_scene};
use plungeline::faces::{Reader, Units};
use plungeline::lake::{Lake, read_lake_file};
use plungeline::physics::water::MAX_DENSITY_TEMP_DEGC;
use plungeline::quality::{Thresholds, flag_set};
use plungeline::series::{SeriesSet, Store};
use plungeline::sources::service_rules;

/// Members, all in one block.
const LANES: usize = 8;
/// Seed of their factors.
const SEED: u64 = 1;
/// The demonstration mornings (docs/demonstration-lake.md).
const MORNINGS: [&str; 4] = ["2025-07-24", "2025-10-09", "2026-01-17", "2026-03-12"];
/// River water counts from so many days before the clock: that of the whole run is nearly all of the lake.
const RIVER_DAYS: usize = 30;
/// Hours whose mean air is the temperature at the start.
const START_HOURS: usize = 30 * 24;
/// Pixels of the PNG for one of the picture.
const PNG_SCALE: f32 = 1.5;
const USAGE: &str = "usage: section --store DIR --lake FILE --as-of TIME --out DIR [--demo] [--metric]";

type Fault = Box<dyn std::error::Error>;

struct Wanted {
    store: PathBuf,
    lake: PathBuf,
    as_of: String,
    out: PathBuf,
    demo: bool,
    units: Units,
}

fn main() -> ExitCode {
    let Some(wanted) = wanted(std::env::args().skip(1)) else {
        eprintln!("{USAGE}");
        return ExitCode::from(2);
    };
    match draw(&wanted) {
        Ok(()) => ExitCode::SUCCESS,
        Err(fault) => {
            eprintln!("section: {fault}");
            ExitCode::FAILURE
        }
    }
}

fn wanted(mut words: impl Iterator<Item = String>) -> Option<Wanted> {
    let (mut store, mut lake, mut as_of, mut out) = (None, None, None, None);
    let (mut demo, mut units) = (false, Units::Us);
    while let Some(word) = words.next() {
        match word.as_str() {
            "--store" => store = words.next(),
            "--lake" => lake = words.next(),
            "--as-of" => as_of = words.next(),
            "--out" => out = words.next(),
            "--demo" => demo = true,
            "--metric" => units = Units::Metric,
            _ => return None,
        }
    }
    Some(Wanted {
        store: store?.into(),
        lake: lake?.into(),
        as_of: as_of?,
        out: out?.into(),
        demo,
        units,
    })
}

fn draw(wanted: &Wanted) -> Result<(), Fault> {
    let lake = read_lake_file(&wanted.lake, &service_rules())?;
    let clock = LakeClock::new(lake.time_zone);
    let as_of = clock.read_as_of(&wanted.as_of)?;
    let (root, known_at) = match wanted.demo {
        true => demonstration(&wanted.store, &clock, as_of)?,
        false => (wanted.store.clone(), as_of),
    };
    let mut set = Store::open(&root, &lake.id)?.load(&lake, known_at);
    flag_set(&mut set, &lake, &Thresholds::built_in());
    let (reservoir, times) = run(&lake, &set, (known_at, as_of))?;
    let section = section_of(&lake, std::slice::from_ref(&reservoir), times)
        .ok_or("the columns hold what is no number; look at the forcing")?;
    print_figures(&section);
    let reader = Reader::new(wanted.units, lake.time_zone);
    let scene = section_scene(&SectionPicture {
        section: &section,
        lake: &lake.name,
        note: lake.note.as_deref(),
        reader: &reader,
    });
    let path = |end: &str| {
        let day = clock.civil_day(as_of);
        wanted.out.join(format!("section-{}-{day}.{end}", lake.id))
    };
    fs::create_dir_all(&wanted.out)?;
    fs::write(path("json"), serde_json::to_string_pretty(&section)?)?;
    fs::write(path("svg"), render_svg(&scene)?)?;
    fs::write(path("png"), render_png(&scene, PNG_SCALE)?)?;
    println!("{}", path("png").display());
    Ok(())
}

/// The store of the first demonstration morning at or after a clock, and that morning; laid where it is not there.
fn demonstration(
    folder: &Path,
    clock: &LakeClock,
    as_of: DateTime<Utc>,
) -> Result<(PathBuf, DateTime<Utc>), Fault> {
    let mut mornings = MORNINGS
        .iter()
        .map(|day| Ok((*day, clock.read_as_of(day)?)))
        .collect::<Result<Vec<_>, Fault>>()?;
    mornings.retain(|(_, morning)| *morning >= as_of);
    let (day, morning) = *mornings
        .first()
        .ok_or("the demonstration's data end on 2026-03-12; choose an earlier --as-of")?;
    let root = folder.join(morning.format("%Y%m%dT%H%M%SZ").to_string());
    if !root.exists() {
        let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
        let status = Command::new(cargo)
            .args(["run", "--quiet", "--bin", "plungeline", "--"])
            .args(["pull", "--demo", "--as-of", day, "--store"])
            .arg(folder)
            .env("XDG_CACHE_HOME", folder.join("cache"))
            .status()?;
        if !status.success() {
            return Err(format!("plungeline pull --demo --as-of {day} has failed; see above").into());
        }
    }
    Ok((root, morning))
}

/// Two instants.
type Span = (DateTime<Utc>, DateTime<Utc>);

/// The lake from its cold start to the last whole hour before the clock; that hour, and that from which on river water counts.
fn run(
    lake: &Lake,
    set: &SeriesSet,
    (known_at, as_of): (DateTime<Utc>, DateTime<Utc>),
) -> Result<(Reservoir<LANES>, Span), Fault> {
    let from = cold_start(lake, set, known_at).ok_or("no winter's air is known; pull more years")?;
    let options = StoredOptions {
        from,
        as_of,
        members: 0,
        seed: SEED,
        ahead_days: 0,
    };
    let stored = stored_forcing(lake, set, &options)?;
    for gap in &stored.gaps {
        eprintln!("not known: {gap:?}");
    }
    let past = &stored.past;
    let setup = ReservoirSetup::of_lake(lake)?;
    let spread = FactorSpread::default();
    let factors = std::array::from_fn(|member| draw_factors(SEED, member, &spread));
    let mut reservoir = begun(&setup, past, factors).ok_or("no level is known at the start")?;
    let mut buffer = DriveBuffer::default();
    let hours = past.weather.len();
    let river_from = hours.saturating_sub(24 * RIVER_DAYS);
    for step in 0..hours {
        if step == river_from {
            forget_rivers(&mut reservoir);
        }
        reservoir.step(&buffer.gather([past; LANES], step))?;
    }
    println!("{hours} hours from {from}, {LANES} members");
    Ok((reservoir, (past.step_start(hours), past.step_start(river_from))))
}

/// Makes all water the lake's own, and books that.
fn forget_rivers(reservoir: &mut Reservoir<LANES>) {
    let network = reservoir.network_mut();
    let before = network.content().river_m3;
    for column in network.columns_mut() {
        column.river_frac.fill([0.0; LANES]);
    }
    let after = network.content().river_m3;
    let booked = &mut network.budget_mut().analysis.river_m3;
    for lane in 0..LANES {
        booked[lane] += after[lane] - before[lane];
    }
}

/// The lake at its cold start: as cold as the air of the month that follows, at least at the temperature of greatest
/// density.
fn begun(
    setup: &ReservoirSetup,
    past: &Forcing,
    factors: [plungeline::column::layered::ModelFactors; LANES],
) -> Option<Reservoir<LANES>> {
    let month = &past.weather[..past.weather.len().min(START_HOURS)];
    let air_degc = month.iter().map(|w| w.air_temp_degc).sum::<f64>() / month.len() as f64;
    let start = (
        air_degc.max(MAX_DENSITY_TEMP_DEGC),
        past.weather.first()?.pressure_pa,
    );
    Reservoir::isothermal(setup, factors, *past.level_m.first()?, start)
}

/// Top and bottom of each column, and the rivers.
fn print_figures(section: &Section) {
    println!("surface {:.2} m", section.surface_elevation_m);
    let water = |layer: &SectionLayer| {
        format!(
            "{:5.2} degC {:5.2} mg/L {:5.3}",
            layer.temp_degc, layer.oxygen_mg_l, layer.river_frac
        )
    };
    for (zone, column) in section.columns() {
        let name = format!("{} {}", zone.name, column.reach);
        match (column.closed, column.layers.first().zip(column.layers.last())) {
            (true, _) => println!("{name:14} closed"),
            (false, Some((bed, top))) => println!(
                "{name:14} {:5.1} m deep; surface {}; bed {}",
                top.top_elevation_m - column.bed_elevation_m,
                water(top),
                water(bed)
            ),
            (false, None) => {}
        }
    }
    for river in &section.rivers {
        println!(
            "{}: {:?} {:?} {:?} {:?}",
            river.name, river.way, river.line, river.line_band, river.rest
        );
    }
}
