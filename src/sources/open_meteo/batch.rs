//! Columns of the service to observations and forecasts of a lake's series.

use std::sync::Arc;

use chrono::{DateTime, Duration, DurationRound, Utc};

use super::read::{Column, Table, Times};
use super::table::{Variable, variable_of};
use crate::clock::LakeClock;
use crate::lake::Cadence;
use crate::series::{Approval, Batch, Flag, ForecastBatch, Member, Observation, Provenance};
use crate::sources::error::ReadError;
use crate::sources::job::Want;
use crate::sources::unit::{Conversion, conversion};

/// What batches of one reply share.
#[derive(Debug, Clone, Copy)]
pub struct Context<'a> {
    /// The lake's clock.
    pub clock: LakeClock,
    /// Clock of the run.
    pub as_of: DateTime<Utc>,
    /// When the reply was received.
    pub retrieved_at: DateTime<Utc>,
    /// When a forecast of it counts as issued.
    pub issued_at: DateTime<Utc>,
    /// Position, as text.
    pub position: &'a str,
    /// What to say of approval: the archive is revised for some months; the service does not say so
    /// value by value.
    pub approval: Approval,
}

/// The steps of a table up to the clock of the run, as observations. Nulls after the last value are
/// left out: they are not there yet, and no gap.
///
/// # Errors
/// [`ReadError::NoVariable`] where the reply has no values of it, [`ReadError::Unit`].
pub fn to_batch(table: &Table, want: &Want, context: Context<'_>) -> Result<Batch, ReadError> {
    let place = place_of(want.cadence);
    let variable = variable(want)?;
    let name = if want.cadence == Cadence::Daily {
        variable.daily
    } else {
        Some(variable.hourly)
    };
    let name = name.ok_or_else(|| no_variable(variable.hourly, place))?;
    let column = column(table, name, Member(0)).ok_or_else(|| no_variable(name, place))?;
    let (conversion, provenance) = conversion_and_provenance(want, name, column, context)?;
    let times = known_times(&table.times, context);
    let mut rows: Vec<Observation> = times
        .zip(&column.value)
        .filter_map(|(time, figure)| Some((time?, *figure)))
        .map(|(time, figure)| Observation {
            time,
            depth_m: None,
            value: figure.map(|figure| want.to_lake(conversion, figure)),
            original_value: figure,
            approval: context.approval,
            qualifier: None,
            flag: if figure.is_some() {
                Flag::NotEvaluated
            } else {
                Flag::Missing
            },
            provenance: Arc::clone(&provenance),
        })
        .collect();
    while rows.last().is_some_and(|row| row.value.is_none()) {
        rows.pop();
    }
    Ok(Batch {
        key: want.key(),
        rows,
    })
}

/// Start of each step, `None` for what the clock of the run does not know yet.
fn known_times<'a>(
    times: &'a Times,
    context: Context<'a>,
) -> Box<dyn Iterator<Item = Option<DateTime<Utc>>> + 'a> {
    let clock = context.clock;
    match times {
        Times::Instants(times) => Box::new(
            times
                .iter()
                .map(move |time| Some(*time).filter(|time| *time <= context.as_of)),
        ),
        Times::Days(days) => Box::new(days.iter().map(move |day| {
            let next = day.succ_opt()?;
            // The figure is of the GMT day, the row of the standard-time day: both must be over.
            let ends = clock
                .standard_day_start(next)
                .max(next.and_time(chrono::NaiveTime::MIN).and_utc());
            (ends <= context.as_of).then(|| clock.standard_day_start(*day))
        })),
    }
}

/// The steps of an hourly table from the hour of the clock on, as a forecast with all its members.
/// Members without any value are left out.
///
/// # Errors
/// [`ReadError::NoVariable`] where the reply has no values of it, [`ReadError::Unit`].
pub fn to_forecast(table: &Table, want: &Want, context: Context<'_>) -> Result<ForecastBatch, ReadError> {
    let variable = variable(want)?;
    let Times::Instants(times) = &table.times else {
        return Err(no_variable(variable.hourly, "hourly"));
    };
    let members: Vec<(Member, &Column)> = table
        .columns
        .get(variable.hourly)
        .into_iter()
        .flatten()
        .filter(|(_, column)| column.has_values())
        .map(|(member, column)| (*member, column))
        .collect();
    let (_, first) = members
        .first()
        .ok_or_else(|| no_variable(variable.hourly, "hourly"))?;
    let (_, provenance) = conversion_and_provenance(want, variable.hourly, first, context)?;
    let this_hour = context
        .as_of
        .duration_trunc(Duration::hours(1))
        .unwrap_or(context.as_of);
    let begin = times.partition_point(|time| *time < this_hour);
    let value = members.iter().map(|(_, column)| {
        // Each member's own unit: nothing says that they agree.
        let (conversion, _) = conversion_and_provenance(want, variable.hourly, column, context)?;
        let in_lake = |figure: &Option<f64>| figure.map(|figure| want.to_lake(conversion, figure));
        Ok(column.value[begin..].iter().map(in_lake).collect())
    });
    Ok(ForecastBatch {
        key: want.key(),
        issued_at: context.issued_at,
        provenance,
        value: value.collect::<Result<Vec<_>, ReadError>>()?,
        time: times[begin..].to_vec(),
        members: members.into_iter().map(|(member, _)| member).collect(),
    })
}

fn place_of(cadence: Cadence) -> &'static str {
    if cadence == Cadence::Daily {
        "daily"
    } else {
        "hourly"
    }
}

fn variable(want: &Want) -> Result<&'static Variable, ReadError> {
    variable_of(&want.series.parameter)
        .ok_or_else(|| no_variable(&want.series.parameter, place_of(want.cadence)))
}

fn column<'a>(table: &'a Table, name: &str, member: Member) -> Option<&'a Column> {
    table
        .columns
        .get(name)?
        .get(&member)
        .filter(|column| column.has_values() || column.unit.is_some())
}

fn no_variable(name: &str, place: &'static str) -> ReadError {
    ReadError::NoVariable {
        variable: name.to_owned(),
        place,
    }
}

fn conversion_and_provenance(
    want: &Want,
    name: &str,
    column: &Column,
    context: Context<'_>,
) -> Result<(Conversion, Arc<Provenance>), ReadError> {
    let unit = column.unit.as_deref().unwrap_or_default();
    let conversion = conversion(want.series.quantity, want.cadence, unit, name)?;
    let provenance = Arc::new(Provenance {
        service: super::NAME.to_owned(),
        station: context.position.to_owned(),
        parameter: name.to_owned(),
        original_unit: unit.to_owned(),
        retrieved_at: context.retrieved_at,
    });
    Ok((conversion, provenance))
}
