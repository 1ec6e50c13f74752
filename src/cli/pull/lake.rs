//! The pull of one lake: what it lacks, the rounds of requests, flags beside the values.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Instant;

use chrono::{DateTime, Duration, NaiveDate, Utc};

use super::history::history;
use super::keep::Count;
use super::many::Options;
use super::round::round;
use crate::cli::failures::Failure;
use crate::cli::progress::Tell;
use crate::cli::session::Session;
use crate::cli::validators::LedgerValidators;
use crate::cli::water::advance_water;
use crate::clock::LakeClock;
use crate::error::Error;
use crate::lake::Lake;
use crate::quality::Thresholds;
use crate::reports::{PulledSeries, PulledWater};
use crate::series::store::PullLock;
use crate::series::{SeriesKey, Store, StoreError};
use crate::sources::job::RECENT_DAYS;
use crate::sources::{Client, Job, Need, Settings, alert_job, jobs};

/// A series that was pulled this recently is not pulled again by `brief` (project choice).
const FRESH_FOR_MIN: i64 = 20;

/// What a pull did.
#[derive(Debug, Default)]
pub struct PullSummary {
    /// Requests made.
    pub requests: usize,
    /// Values that are new or revised, by series.
    pub rows: BTreeMap<SeriesKey, Count>,
    /// Rows of replies that were left out, in words.
    pub left_out: Vec<String>,
    /// What failed.
    pub failed: Vec<Failure>,
    /// How every series stands afterwards.
    pub standing: Vec<PulledSeries>,
    /// How far the water was run, where that was wanted.
    pub water: Option<PulledWater>,
}

/// How often a running pull is looked at, while it is waited for.
const LOOK_EVERY: std::time::Duration = std::time::Duration::from_millis(100);

/// The right to pull, waiting for a pull under way as long as `wait`.
fn lock(session: &Session, wait: std::time::Duration) -> Result<PullLock, StoreError> {
    let until = Instant::now() + wait;
    loop {
        match session.store.begin_pull(session.started_at) {
            Err(StoreError::PullRunning { .. }) if Instant::now() < until => std::thread::sleep(LOOK_EVERY),
            answer => return answer,
        }
    }
}

/// What a pull of one lake works with.
pub struct Task {
    pub lake: Arc<Lake>,
    pub store: Store,
    pub as_of: DateTime<Utc>,
    pub tell: Tell,
    pub settings: Settings,
    thresholds: Thresholds,
    /// Whether the water is run up to the clock.
    advance_water: bool,
    lake_file: PathBuf,
    history_years: Option<u32>,
    work: Vec<Job>,
    asked: BTreeMap<SeriesKey, DateTime<Utc>>,
    validators: Arc<LedgerValidators>,
    /// Held from the first look at what is lacking to the last flag.
    _lock: PullLock,
}

impl Task {
    /// What to ask for; `None` for nothing.
    pub fn plan(session: &Session, options: Options) -> Result<Option<Task>, Error> {
        let clock = LakeClock::new(session.lake.time_zone);
        let today = clock.standard_day(session.as_of);
        if let Some(day) = options.since.filter(|day| *day > today) {
            return Err(Error::SinceAhead { day, today });
        }
        let lock = lock(session, options.wait)?;
        let ledger = session.store.ledger();
        let wide;
        let lacking = match options.since {
            Some(day) => {
                wide = since(&session.lake, day, &clock, session.as_of);
                let since = clock.standard_day_start(day);
                session.store.needs_since(&wide, session.as_of, since)?
            }
            None => session.store.needs(&session.lake, session.as_of)?,
        };
        let lately = |key: &SeriesKey| pulled_lately(ledger.pull(key).map(|r| r.pulled_at), session.as_of);
        let lacking: Vec<_> = lacking
            .into_iter()
            .filter(|n| options.always || n.whole || !lately(&n.key()))
            .collect();
        let needs: Vec<Need<'_>> = lacking
            .iter()
            .map(|n| Need {
                series: n.source,
                cadence: n.cadence,
                from: Some(n.from),
                to: session.as_of,
            })
            .collect();
        let mut work = jobs(&session.lake, &needs);
        let alerts_held = session.store.alerts(session.as_of).ok().flatten();
        if options.always || !pulled_lately(alerts_held.map(|reply| reply.known_at), session.as_of) {
            work.extend(alert_job(&session.lake, session.as_of));
        }
        if work.is_empty() && options.history_years.is_none() {
            return Ok(None);
        }
        // Validators speak of what the store holds; where it lacks something, everything is asked for anew.
        let whole = lacking.iter().any(|n| n.whole);
        let known = if whole { BTreeMap::new() } else { ledger.validators };
        let validators = Arc::new(LedgerValidators::new(known));
        let settings = Settings {
            validators: Some(Arc::clone(&validators) as Arc<_>),
            endpoints: session.endpoints.clone(),
            ..Settings::for_lake(&session.lake, &session.lake_file)
        }
        .with_keys(|name| std::env::var(name).ok());
        Ok(Some(Task {
            asked: lacking.iter().map(|n| (n.key(), n.from)).collect(),
            lake: Arc::new(session.lake.clone()),
            store: session.store.clone(),
            as_of: session.as_of,
            tell: options.tell,
            thresholds: session.thresholds.clone(),
            advance_water: options.advance_water,
            lake_file: session.lake_file.clone(),
            history_years: options.history_years,
            settings,
            work,
            validators,
            _lock: lock,
        }))
    }
}

/// The lake with every series described from `day` on, where its file begins later.
fn since(lake: &Lake, day: NaiveDate, clock: &LakeClock, as_of: DateTime<Utc>) -> Lake {
    let mut wide = lake.clone();
    let today = clock.standard_day(as_of);
    for series in &mut wide.series {
        // What a series without a first day has anyway (sources/job.rs).
        let year = today - Duration::days(365);
        series.daily_from = Some(series.daily_from.unwrap_or(year).min(day));
        let recent = today - Duration::days(RECENT_DAYS);
        series.continuous_from = Some(series.continuous_from.unwrap_or(recent).min(day));
    }
    wide
}

fn pulled_lately(pulled_at: Option<DateTime<Utc>>, as_of: DateTime<Utc>) -> bool {
    pulled_at.is_some_and(|at| at <= as_of && as_of - at < Duration::minutes(FRESH_FOR_MIN))
}

/// Fetches what the store lacks, keeps it as it comes, and writes quality flags beside the values.
pub async fn pull_lake(mut task: Task, client: Arc<Client>) -> Result<PullSummary, Error> {
    let mut summary = PullSummary::default();
    let (work, asked) = (std::mem::take(&mut task.work), std::mem::take(&mut task.asked));
    round(&task, &client, work, asked, &mut summary).await?;
    let fresh = task.validators.taken();
    if !fresh.is_empty() {
        task.store
            .update_ledger(|ledger| ledger.validators.extend(fresh))?;
    }
    if let Some(years) = task.history_years {
        history(&task, &client, years, &mut summary).await?;
    }
    tokio::task::spawn_blocking(move || flag(task, summary))
        .await
        .map_err(|failure| Error::Runtime {
            source: failure.into(),
        })?
}

/// Flags the whole set anew and writes the flags beside the values.
fn flag(mut task: Task, mut summary: PullSummary) -> Result<PullSummary, Error> {
    let mut set = task.store.load(&task.lake, task.as_of);
    crate::quality::flag_set(&mut set, &task.lake, &task.thresholds);
    let flagged = set.observations.iter().map(|(key, rows)| (key, rows.as_slice()));
    task.store.set_all_flags(flagged)?;
    for source in &task.lake.series {
        for &cadence in &source.cadences {
            let key = SeriesKey {
                id: source.id.clone(),
                cadence,
            };
            let mut standing = PulledSeries::standing(&set, source, cadence, &task.lake);
            let count = summary.rows.get(&key).copied().unwrap_or_default();
            (standing.added, standing.revised) = (count.added, count.revised);
            standing.failed = summary.failed.iter().any(|f| f.keys.contains(&key));
            summary.standing.push(standing);
        }
    }
    if task.advance_water {
        summary.water = Some(advance_water(&task.lake, &task.lake_file, &task.store, &set)?);
    }
    Ok(summary)
}
