//! `log add`: a trip in one line, or by questions.

use std::io::{BufRead, Write};

use super::ask::ask_trip;
use super::command::Run;
use crate::cli::output;
use crate::error::{Error, Status};
use crate::faces::trips::render_trip;
use crate::trips::{Placed, Trip, Twins, faulty, read_trip_line, sound};

/// Adds a trip and shows what was understood.
///
/// # Errors
/// A faulty trip, one that is there already, a log that cannot be written; answers that end before the trip does.
pub(super) fn run(run: &Run, words: &[String], again: bool) -> Result<Status, Error> {
    let (origin, trip) = if words.is_empty() {
        (
            "the answers",
            answered(run, &mut std::io::stdin().lock(), &mut std::io::stderr().lock())?,
        )
    } else {
        let trip = read_trip_line(&words.join(" "), &run.known());
        ("the trip", trip.map_err(|faults| faulty("the trip", faults))?)
    };
    let placed = vec![Placed {
        place: "the trip".to_owned(),
        trip,
    }];
    let trips = sound(placed, &run.known(), origin)?;
    let mut log = run.log()?;
    let twins = if again { Twins::Add } else { Twins::Refuse };
    let added = log.add(&trips, twins, run.now())?;
    for number in &added.numbers {
        let version = log.version(*number, None)?;
        output::print(&render_trip(*number, &version, 1, run.lake(), &run.reader))?;
        tell(&version.trip);
    }
    Ok(Status::Good)
}

/// What keeps a trip from being counted.
fn tell(trip: &Trip) {
    for (i, leg) in trip.legs.iter().enumerate() {
        if !leg.catch_known {
            output::remark(&format!(
                "leg {}: what was caught is not told, so it does not count; write blank if it was nothing",
                i + 1
            ));
        }
        if leg.rods.is_none() {
            output::remark(&format!(
                "leg {}: the rods are not told, so it does not count; plungeline log edit N rods=2",
                i + 1
            ));
        }
    }
}

fn answered(run: &Run, input: &mut impl BufRead, to: &mut impl Write) -> Result<Trip, Error> {
    ask_trip(&run.known(), run.reader.units, input, to)
}
