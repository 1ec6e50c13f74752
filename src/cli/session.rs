//! One run: which lake, which store, which clock, live or replayed. The only place that looks at the
//! wall clock.

use std::path::PathBuf;

use chrono::{DateTime, SubsecRound as _, Utc};

use super::args::SessionArgs;
use super::{demo, lakes};
use crate::clock::LakeClock;
use crate::error::Error;
use crate::lake::Lake;
use crate::quality::Thresholds;
use crate::series::Store;
use crate::series::store::store_root;
use crate::sources::{Endpoints, Mode};

/// Names an address of this machine that answers in place of every service.
const LOOPBACK: &str = "PLUNGELINE_LOOPBACK";
/// Clock in the name of a demonstration store.
const STAMP: &str = "%Y%m%dT%H%M%SZ";

/// One run.
pub struct Session {
    /// The lake.
    pub lake: Lake,
    /// Its file; relative paths in it start there.
    pub lake_file: PathBuf,
    /// The lake's clock.
    pub clock: LakeClock,
    /// The store.
    pub store: Store,
    /// The clock of the run: nothing later is used.
    pub as_of: DateTime<Utc>,
    /// When the run began, by the wall clock.
    pub started_at: DateTime<Utc>,
    /// Where the services are asked.
    pub endpoints: Endpoints,
    /// Thresholds of the quality checks.
    pub thresholds: Thresholds,
    /// Whether it is the demonstration, with a store of its own for each clock.
    pub demo: bool,
    /// Where replies come from; `None` when nothing is to be fetched.
    pub mode: Option<Mode>,
}

impl Session {
    /// Whether its clock is one that is played again: of the demonstration, or from saved replies.
    pub fn is_replay(&self) -> bool {
        self.demo || matches!(self.mode, Some(Mode::Replay { .. }))
    }
}

/// Opens a run.
///
/// # Errors
/// No lake, a faulty lake file or file of thresholds, a clock that cannot be read, a store that cannot be opened.
pub fn open(args: &SessionArgs, lake: Option<&str>) -> Result<Session, Error> {
    let demo = if args.demo {
        Some(demo::lay_out(args.store.as_deref(), args.replay.as_deref())?)
    } else {
        None
    };
    let lake_file = match &demo {
        Some(demo) => demo.lake_file.clone(),
        None => lakes::lake_file(lake)?,
    };
    let lake = match (lakes::read(&lake_file)?, &demo, &args.replay) {
        (lake, Some(_), Some(replay)) => demo::with_tables_of(lake, replay),
        (lake, _, _) => lake,
    };
    let started_at = Utc::now().trunc_subsecs(0);
    let thresholds = match &args.quality {
        Some(file) => Thresholds::read(file)?,
        None => Thresholds::built_in(),
    };
    let clock = LakeClock::new(lake.time_zone);
    let as_of = match (&args.as_of, &demo) {
        (Some(text), _) => clock.read_as_of(text)?,
        (None, Some(_)) => clock.read_as_of(demo::DEFAULT_MORNING)?,
        (None, None) => started_at,
    };
    let root = match &demo {
        // A store a clock: what was known on one morning must not leak into an earlier one.
        Some(demo) => demo.stores.join(as_of.format(STAMP).to_string()),
        None => store_root(args.store.as_deref())?,
    };
    let store = Store::open(&root, &lake.id)?;
    let mode = match (&demo, &args.replay, &args.record) {
        _ if args.offline => None,
        (Some(demo), _, _) => Some(Mode::Replay {
            dir: demo.replay.clone(),
            as_of,
        }),
        (None, Some(dir), _) => Some(Mode::Replay {
            dir: dir.clone(),
            as_of,
        }),
        (None, None, Some(dir)) => Some(Mode::Record {
            dir: dir.clone(),
            as_of,
        }),
        (None, None, None) => Some(Mode::Live),
    };
    Ok(Session {
        lake,
        lake_file,
        clock,
        store,
        as_of,
        started_at,
        endpoints: endpoints()?,
        thresholds,
        demo: demo.is_some(),
        mode,
    })
}

/// The services themselves; for tests another address of this machine, never one elsewhere.
fn endpoints() -> Result<Endpoints, Error> {
    let Ok(root) = std::env::var(LOOPBACK) else {
        return Ok(Endpoints::live());
    };
    let endpoints = Endpoints::below(root.as_str());
    if endpoints.is_loopback() {
        Ok(endpoints)
    } else {
        Err(Error::NotLoopback { found: root })
    }
}
