//! `plungeline pull`: fetch what is new into the store.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::{DateTime, Duration, Utc};
use tokio::task::JoinSet;

use super::args::PullArgs;
use super::failures::{self, Failure};
use super::output;
use super::progress::Progress;
use super::session::{self, Session};
use super::validators::LedgerValidators;
use crate::error::{Error, Status};
use crate::faces::reader::thousands;
use crate::lake::{Cadence, Lake, SeriesId};
use crate::series::{Batch, ForecastBatch, SeriesKey};
use crate::sources::{Client, Fetched, Job, Need, Settings, SourceError, alert_job, jobs, run as run_job};

/// A series that was pulled this recently is not pulled again by `brief` (project choice).
const FRESH_FOR_MIN: i64 = 20;

/// What a pull did.
#[derive(Debug, Default)]
pub struct PullSummary {
    /// Requests made.
    pub requests: usize,
    /// Values that are new, by series.
    pub added: BTreeMap<SeriesId, usize>,
    /// Values that were revised.
    pub revised: usize,
    /// Rows of replies that were left out, in words.
    pub left_out: Vec<String>,
    /// What failed.
    pub failed: Vec<Failure>,
}

/// The command.
///
/// # Errors
/// A session that cannot be opened, or a store that cannot be written. Services that fail are told, and
/// the status is 1 when nothing came at all.
pub fn run(args: &PullArgs) -> Result<Status, Error> {
    let mut session = session::open(&args.session)?;
    let summary = pull(&mut session, true)?;
    let number = |n: usize| thousands(n as f64);
    let added: usize = summary.added.values().sum();
    let mut text = format!(
        "{}: {} requests, {} new values, {} revised\n",
        session.lake.name,
        number(summary.requests),
        number(added),
        number(summary.revised)
    );
    for (series, count) in summary.added.iter().filter(|(_, count)| **count > 0) {
        text.push_str(&format!("  {:<18} {:>9} new\n", series.as_str(), number(*count)));
    }
    output::print(&text)?;
    tell(&summary);
    let failed: usize = summary.failed.iter().map(|f| f.requests.len()).sum();
    let nothing_came = !summary.failed.is_empty() && failed == summary.requests;
    Ok(if nothing_came {
        Status::Failed
    } else {
        Status::Good
    })
}

/// Says on standard error what failed and what was left out.
pub fn tell(summary: &PullSummary) {
    failures::tell(&summary.failed);
    for line in &summary.left_out {
        output::remark(&format!("left out: {line}"));
    }
}

/// Fetches what the store lacks, merges it, and writes quality flags beside the values. `always` pulls
/// series again that were pulled a moment ago.
///
/// # Errors
/// The store cannot be read or written, or the network runtime cannot be started. A service that fails
/// is no error: it is in the summary.
pub fn pull(session: &mut Session, always: bool) -> Result<PullSummary, Error> {
    let Some(mode) = session.mode.clone() else {
        return Ok(PullSummary::default());
    };
    let ledger = session.store.ledger();
    let lacking = session.store.needs(&session.lake, session.as_of)?;
    let lacking: Vec<_> = lacking
        .into_iter()
        .filter(|n| {
            always || n.whole || !pulled_lately(ledger.pull(&n.key()).map(|r| r.pulled_at), session.as_of)
        })
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
    if always || !pulled_lately(alerts_held.map(|reply| reply.known_at), session.as_of) {
        work.extend(alert_job(&session.lake, session.as_of));
    }
    if work.is_empty() {
        return Ok(PullSummary::default());
    }
    // Validators speak of what the store holds; where it lacks something, everything is asked for anew.
    let whole = lacking.iter().any(|n| n.whole);
    let validators = Arc::new(LedgerValidators::new(if whole {
        BTreeMap::new()
    } else {
        ledger.validators
    }));
    let settings = Settings {
        validators: Some(Arc::clone(&validators) as Arc<_>),
        ..Settings::for_lake(&session.lake, &session.lake_file)
    }
    .with_keys(|name| std::env::var(name).ok());

    let runtime = tokio::runtime::Runtime::new().map_err(|source| Error::Runtime { source })?;
    let (client, replies) = runtime.block_on(fetch_all(&session.lake, mode, settings, work))?;
    let good: Vec<Job> = replies
        .iter()
        .filter(|(_, o)| o.is_ok())
        .map(|(job, _)| job.clone())
        .collect();
    let asked: Vec<(SeriesKey, DateTime<Utc>)> = lacking.iter().map(|n| (n.key(), n.from)).collect();
    let summary = merge(session, replies, &asked)?;
    // Only now that the values are in the store are their validators worth keeping.
    good.iter().for_each(|job| client.confirm(job));
    let fresh = validators.taken();
    if !fresh.is_empty() {
        session.store.update_ledger(|ledger| {
            ledger.validators.extend(fresh);
        })?;
    }
    flag(session)?;
    Ok(summary)
}

fn pulled_lately(pulled_at: Option<DateTime<Utc>>, as_of: DateTime<Utc>) -> bool {
    pulled_at.is_some_and(|at| at <= as_of && as_of - at < Duration::minutes(FRESH_FOR_MIN))
}

/// A request and what came of it.
type Answered = (Job, Result<Vec<Fetched>, SourceError>);

async fn fetch_all(
    lake: &Lake,
    mode: crate::sources::Mode,
    settings: Settings,
    work: Vec<Job>,
) -> Result<(Arc<Client>, Vec<Answered>), Error> {
    let client = Arc::new(Client::new(mode, settings).await?);
    let lake = Arc::new(lake.clone());
    let mut progress = Progress::start(&work, client.is_replay());
    let mut running = JoinSet::new();
    for job in work {
        let (client, lake) = (Arc::clone(&client), Arc::clone(&lake));
        // The client itself bounds how many requests are in flight.
        running.spawn(async move {
            let outcome = run_job(&client, &lake, &job).await;
            (job, outcome)
        });
    }
    let mut replies = Vec::new();
    while let Some(finished) = running.join_next().await {
        match finished {
            Ok(answered) => {
                progress.ended(&answered.0, answered.1.is_ok());
                replies.push(answered);
            }
            Err(failure) => tracing::error!(%failure, "a request was lost"),
        }
    }
    progress.finish();
    // Tasks end in any order; merging in the order of the requests makes a run repeatable.
    replies.sort_by_key(|answered| answered.0.label());
    Ok((client, replies))
}

fn merge(
    session: &mut Session,
    replies: Vec<Answered>,
    asked: &[(SeriesKey, DateTime<Utc>)],
) -> Result<PullSummary, Error> {
    let mut summary = PullSummary {
        requests: replies.len(),
        ..PullSummary::default()
    };
    let mut batches: Vec<Batch> = Vec::new();
    let mut forecasts: Vec<ForecastBatch> = Vec::new();
    let mut stand_ins: Vec<ForecastBatch> = Vec::new();
    let mut failed_keys: Vec<SeriesKey> = Vec::new();
    for (job, outcome) in replies {
        match outcome {
            Ok(parts) => {
                for part in parts {
                    match part {
                        Fetched::Observations(batch) => batches.push(batch),
                        Fetched::Forecast(forecast) => forecasts.push(forecast),
                        Fetched::StandInForecast(forecast) => stand_ins.push(forecast),
                        Fetched::Alerts(reply) => session.store.keep_alerts(&reply)?,
                        Fetched::Station(_) | Fetched::NotModified { .. } => {}
                        Fetched::Faults { series, faults } => {
                            summary
                                .left_out
                                .extend(faults.iter().map(|f| format!("{series}: {f}")));
                        }
                    }
                }
            }
            Err(error) => {
                failed_keys.extend(job.wants.iter().map(|w| SeriesKey {
                    id: w.series.id.clone(),
                    cadence: w.cadence,
                }));
                failures::add(&mut summary.failed, &job, &error);
            }
        }
    }
    stand_ins.retain(|s| !forecasts.iter().any(|f| f.key == s.key));
    forecasts.append(&mut stand_ins);
    for (id, group) in by_series(batches) {
        let report = session.store.merge_all(&group)?;
        *summary.added.entry(id).or_default() += report.added;
        summary.revised += report.replaced;
    }
    for forecast in &forecasts {
        let report = session.store.merge_forecast(forecast)?;
        *summary.added.entry(forecast.key.id.clone()).or_default() += report.added;
    }
    // A series of which one part failed is asked for whole again next time.
    let done: Vec<(SeriesKey, DateTime<Utc>)> = asked
        .iter()
        .filter(|(key, _)| key.cadence == Cadence::Forecast || !failed_keys.contains(key))
        .cloned()
        .collect();
    session.store.record_pulls(&done, session.as_of)?;
    Ok(summary)
}

fn by_series(batches: Vec<Batch>) -> BTreeMap<SeriesId, Vec<Batch>> {
    let mut groups: BTreeMap<SeriesId, Vec<Batch>> = BTreeMap::new();
    for batch in batches {
        groups.entry(batch.key.id.clone()).or_default().push(batch);
    }
    groups
}

/// Flags the whole set anew and writes the flags beside the values.
fn flag(session: &mut Session) -> Result<(), Error> {
    let mut set = session.store.load(&session.lake, session.as_of);
    crate::quality::flag_set(&mut set, &session.lake, &session.thresholds);
    let flagged = set.observations.iter().map(|(key, rows)| (key, rows.as_slice()));
    session.store.set_all_flags(flagged)?;
    Ok(())
}
