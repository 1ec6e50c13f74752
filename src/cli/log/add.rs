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
        tell(*number, &version.trip);
    }
    Ok(Status::Good)
}

/// What keeps a trip from being counted.
fn tell(number: u32, trip: &Trip) {
    for (at, leg) in (1..).zip(&trip.legs) {
        if !leg.catch_known {
            output::remark(&format!(
                "leg {at}: what was caught is not told, so it does not count; plungeline log edit {number} {at}.catch=blank if it was \
                 nothing"
            ));
        }
        if leg.rods.is_none() {
            output::remark(&format!(
                "leg {at}: the rods are not told, so it does not count; plungeline log edit {number} {at}.rods=2"
            ));
        }
    }
}

fn answered(run: &Run, input: &mut impl BufRead, to: &mut impl Write) -> Result<Trip, Error> {
    ask_trip(&run.known(), run.reader.units, input, to)
}
