//! Many lakes at once over the limits of one client.

use std::sync::Arc;
use std::time::Duration;

use chrono::NaiveDate;
use tokio::task::JoinSet;

use super::lake::{PullSummary, Task, pull_lake};
use crate::cli::progress::Tell;
use crate::cli::session::Session;
use crate::error::Error;
use crate::sources::{Client, Mode};

/// How to pull.
#[derive(Debug, Clone, Copy)]
pub struct Options {
    /// Whether series are asked for that were a moment ago.
    pub always: bool,
    /// Fetch everything from this day on again.
    pub since: Option<NaiveDate>,
    /// Years of the weather archive to fill.
    pub history_years: Option<u32>,
    /// What is told on the way.
    pub tell: Tell,
    /// Whether the water is run up to the clock when all is stored; a brief does that itself.
    pub advance_water: bool,
    /// How long a pull under way into the same store is waited for.
    pub wait: Duration,
}

/// Pulls one lake.
///
/// # Errors
/// As [`pull_many`], and those of the lake.
pub fn pull(session: &Session, options: Options) -> Result<PullSummary, Error> {
    match pull_many(&[session], options)?.pop() {
        Some(of_lake) => of_lake,
        None => Ok(PullSummary::default()),
    }
}

/// Pulls every lake; what came of each, in their order. One that fails does not stop the others.
///
/// # Errors
/// The network runtime or the network client cannot be started.
pub fn pull_many(sessions: &[&Session], options: Options) -> Result<Vec<Result<PullSummary, Error>>, Error> {
    if sessions.iter().all(|session| session.mode.is_none()) {
        return Ok(sessions.iter().map(|_| Ok(PullSummary::default())).collect());
    }
    let runtime = tokio::runtime::Runtime::new().map_err(|source| Error::Runtime { source })?;
    runtime.block_on(all(sessions, options))
}

async fn all(sessions: &[&Session], options: Options) -> Result<Vec<Result<PullSummary, Error>>, Error> {
    let mut results: Vec<Result<PullSummary, Error>> =
        sessions.iter().map(|_| Ok(PullSummary::default())).collect();
    let mut clients: Vec<(Mode, Arc<Client>)> = Vec::new();
    let mut running = JoinSet::new();
    for (place, session) in sessions.iter().enumerate() {
        let Some(mode) = &session.mode else { continue };
        let plan = match Task::plan(session, options) {
            Ok(Some(plan)) => plan,
            Ok(None) => continue,
            Err(error) => {
                results[place] = Err(error);
                continue;
            }
        };
        // A replay goes by the clock of its lake; of the services themselves there is one client.
        let same = |other: &Mode| match (other, mode) {
            (Mode::Replay { .. }, _) | (_, Mode::Replay { .. }) => other == mode,
            _ => true,
        };
        let client = match clients.iter().find(|(other, _)| same(other)) {
            Some((_, first)) => Arc::new(first.for_lake(plan.settings.clone())),
            None => {
                let client = Arc::new(Client::new(mode.clone(), plan.settings.clone()).await?);
                clients.push((mode.clone(), Arc::clone(&client)));
                client
            }
        };
        running.spawn(async move { (place, pull_lake(plan, client).await) });
    }
    while let Some(finished) = running.join_next().await {
        match finished {
            Ok((place, result)) => results[place] = result,
            Err(failure) => {
                return Err(Error::Runtime {
                    source: failure.into(),
                });
            }
        }
    }
    Ok(results)
}
