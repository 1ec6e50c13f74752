//! `--history YEARS`: the weather archive, a year at a time from the newest back, what the store holds left out.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use chrono::{DateTime, Datelike as _, NaiveDate, NaiveTime, Utc};

use super::lake::{PullSummary, Task};
use super::round::round;
use crate::clock::LakeClock;
use crate::error::Error;
use crate::lake::{Cadence, SeriesSource};
use crate::series::SeriesKey;
use crate::sources::registry::ARCHIVES;
use crate::sources::{Client, Job, Need, jobs};

/// A series at one cadence, and the calendar years it lacks, newest first.
struct Lacking {
    source: SeriesSource,
    cadence: Cadence,
    years: Vec<i32>,
}

/// Fills the years that are lacking. A year that fails ends the history of its series in this run: the ledger knows
/// one first instant, from which on everything was asked for.
pub async fn history(
    task: &Task,
    client: &Arc<Client>,
    years: u32,
    summary: &mut PullSummary,
) -> Result<(), Error> {
    let mut lacking = lacking(task, years)?;
    loop {
        let Some(year) = lacking.iter().filter_map(|l| l.years.first().copied()).max() else {
            return Ok(());
        };
        let (work, asked) = requests(task, &lacking, year);
        let failed = round(task, client, work, asked, summary).await?;
        for of in &mut lacking {
            of.years.retain(|other| *other != year);
            if failed.contains(&key(&of.source, of.cadence)) {
                of.years.clear();
            }
        }
    }
}

fn key(source: &SeriesSource, cadence: Cadence) -> SeriesKey {
    SeriesKey {
        id: source.id.clone(),
        cadence,
    }
}

/// Daily values where a series has them, since they are a twenty-fourth of the hourly ones; hourly ones otherwise.
fn lacking(task: &Task, years: u32) -> Result<Vec<Lacking>, Error> {
    let clock = LakeClock::new(task.lake.time_zone);
    let of_archive = |s: &&SeriesSource| ARCHIVES.contains(&s.service.as_str());
    let mut found = Vec::new();
    for source in task.lake.series.iter().filter(of_archive) {
        let cadence = [Cadence::Daily, Cadence::Continuous]
            .into_iter()
            .find(|c| source.cadences.contains(c));
        if let Some(cadence) = cadence {
            found.push(Lacking {
                source: source.clone(),
                cadence,
                years: task
                    .store
                    .years_lacking(source, cadence, &clock, (task.as_of, years))?,
            });
        }
    }
    Ok(found)
}

/// The requests of one year for all series that lack it.
fn requests(task: &Task, lacking: &[Lacking], year: i32) -> (Vec<Job>, BTreeMap<SeriesKey, DateTime<Utc>>) {
    let clock = LakeClock::new(task.lake.time_zone);
    let Some((first, last)) = NaiveDate::from_ymd_opt(year, 1, 1).zip(NaiveDate::from_ymd_opt(year, 12, 31))
    else {
        return Default::default();
    };
    let end_of_year = last.and_time(NaiveTime::MIN).and_utc() + chrono::Duration::seconds(86_399);
    // A copy of each series that is described for this year alone.
    let of_year: Vec<(SeriesSource, Cadence)> = lacking
        .iter()
        .filter(|of| of.years.first() == Some(&year))
        .map(|of| {
            let mut source = of.source.clone();
            source.daily_from = Some(first);
            source.daily_until = Some(source.daily_until.map_or(last, |until| until.min(last)));
            source.continuous_from = Some(first);
            (source, of.cadence)
        })
        .collect();
    let from = clock.standard_day_start(first);
    let needs: Vec<Need<'_>> = of_year
        .iter()
        .map(|(series, cadence)| Need {
            series,
            cadence: *cadence,
            from: None,
            to: match cadence {
                Cadence::Daily => task.as_of,
                _ => task.as_of.min(end_of_year),
            },
        })
        .collect();
    // What comes along with hours, such as a forecast, was asked for before.
    let of_archive = |job: &Job| {
        job.window
            .as_ref()
            .is_some_and(|(from, _)| from.starts_with(&first.year().to_string()))
    };
    let work: Vec<Job> = jobs(&task.lake, &needs).into_iter().filter(of_archive).collect();
    let wanted: BTreeSet<SeriesKey> = work.iter().flat_map(|job| &job.wants).map(|w| w.key()).collect();
    (work, wanted.into_iter().map(|key| (key, from)).collect())
}
