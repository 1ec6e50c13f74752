//! One round of requests of a lake: all at once as far as the client lets them, each series into the store as soon as
//! its last reply is there.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use chrono::{DateTime, Utc};
use tokio::task::JoinSet;

use super::keep::{Count, Finished, keep};
use super::lake::{PullSummary, Task};
use crate::cli::failures;
use crate::cli::progress::Progress;
use crate::error::Error;
use crate::lake::SeriesId;
use crate::series::SeriesKey;
use crate::sources::{Client, Fetched, Job, SourceError, run as run_job};

/// A request and what came of it.
type Answered = (Job, Result<Vec<Fetched>, SourceError>);

/// Does `work` and keeps what it brings; the keys of which a request failed.
pub async fn round(
    task: &Task,
    client: &Arc<Client>,
    work: Vec<Job>,
    asked: BTreeMap<SeriesKey, DateTime<Utc>>,
    summary: &mut PullSummary,
) -> Result<BTreeSet<SeriesKey>, Error> {
    let mut progress = Progress::start(&task.lake.id, &work, client.is_replay(), task.tell);
    let mut due: BTreeMap<SeriesKey, usize> = BTreeMap::new();
    for want in work.iter().flat_map(|job| &job.wants) {
        *due.entry(want.key()).or_default() += 1;
    }
    summary.requests += work.len();
    let mut running = JoinSet::new();
    for job in work {
        let (client, lake) = (Arc::clone(client), Arc::clone(&task.lake));
        // The client itself bounds how many requests are in flight.
        running.spawn(async move {
            let outcome = run_job(&client, &lake, &job).await;
            (job, outcome)
        });
    }
    let mut state = State::default();
    while let Some(finished) = running.join_next().await {
        let mut finished = vec![finished];
        finished.extend(std::iter::from_fn(|| running.try_join_next()));
        let mut ready: Vec<SeriesKey> = Vec::new();
        for answered in finished {
            let answered = match answered {
                Ok(answered) => answered,
                Err(failure) => {
                    // Its series are never complete, so nothing is noted of them and they are asked for again.
                    tracing::error!(%failure, "a request was lost");
                    continue;
                }
            };
            progress.ended(&answered.0, answered.1.is_ok());
            for want in &answered.0.wants {
                if let Some(left) = due.get_mut(&want.key()) {
                    *left -= 1;
                    if *left == 0 {
                        ready.push(want.key());
                    }
                }
            }
            state.take(task, answered, summary)?;
        }
        if !ready.is_empty() {
            let finished = state.finished(ready, &asked, task.as_of);
            let store = task.store.clone();
            let kept = tokio::task::spawn_blocking(move || keep(store, finished))
                .await
                .map_err(|failure| Error::Runtime {
                    source: failure.into(),
                })??;
            for (key, count) in kept {
                // Of a series of which a request failed it is not said that it is there whole.
                if !state.failed.contains(&key) {
                    progress.stored(&task.lake.id, &key, count);
                }
                add(&mut summary.rows, key, count);
            }
        }
    }
    progress.finish();
    // Only now that the values are in the store are their validators worth keeping.
    state.good.iter().for_each(|job| client.confirm(job));
    Ok(state.failed)
}

fn add(rows: &mut BTreeMap<SeriesKey, Count>, key: SeriesKey, count: Count) {
    let of = rows.entry(key).or_default();
    of.added += count.added;
    of.revised += count.revised;
}

/// What has come so far.
#[derive(Default)]
struct State {
    /// Parts of series that still wait for others, with the request they came with.
    parts: BTreeMap<SeriesKey, Vec<(String, Fetched)>>,
    failed: BTreeSet<SeriesKey>,
    good: Vec<Job>,
}

impl State {
    fn take(
        &mut self,
        task: &Task,
        (job, outcome): Answered,
        summary: &mut PullSummary,
    ) -> Result<(), Error> {
        let parts = match outcome {
            Ok(parts) => parts,
            Err(error) => {
                self.failed.extend(job.wants.iter().map(|want| want.key()));
                failures::add(&mut summary.failed, &job, &error);
                return Ok(());
            }
        };
        for part in parts {
            let key = match &part {
                Fetched::Observations(batch) => batch.key.clone(),
                Fetched::Forecast(batch) | Fetched::StandInForecast(batch) => batch.key.clone(),
                Fetched::Alerts(reply) => {
                    task.store.keep_alerts(reply)?;
                    continue;
                }
                Fetched::Faults { series, faults } => {
                    let told = |f: &crate::sources::RowFault| left_out(series, f);
                    summary.left_out.extend(faults.iter().map(told));
                    continue;
                }
                Fetched::Station(_) | Fetched::NotModified { .. } => continue,
            };
            self.parts.entry(key).or_default().push((job.label(), part));
        }
        self.good.push(job);
        Ok(())
    }

    fn finished(
        &mut self,
        ready: Vec<SeriesKey>,
        asked: &BTreeMap<SeriesKey, DateTime<Utc>>,
        as_of: DateTime<Utc>,
    ) -> Finished {
        let series = ready.into_iter().map(|key| {
            let mut parts = self.parts.remove(&key).unwrap_or_default();
            // Requests end in any order; merging in the order of their labels makes a run repeatable.
            parts.sort_by(|a, b| a.0.cmp(&b.0));
            let failed = self.failed.contains(&key);
            (key, failed, parts.into_iter().map(|(_, part)| part).collect())
        });
        Finished {
            series: series.collect(),
            asked: asked.clone(),
            as_of,
        }
    }
}

fn left_out(series: &SeriesId, fault: &crate::sources::RowFault) -> String {
    format!("{series}: {fault}")
}
