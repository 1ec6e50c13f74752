//! `plungeline turnover`: when the lake turns over.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use super::args::{SessionArgs, UnitsArg};
use super::morning::{fetched_set, trips_so_far};
use super::session::Session;
use super::water::columns_of_session;
use super::{forecasts, lakes, output, session};
use crate::analysis::{SeasonOptions, season_of, season_runs};
use crate::column::turnover::YearWeights;
use crate::conditions::conditions_at;
use crate::error::{Error, Status};
use crate::faces::json::{render_turnover_hindcast_json, render_turnover_json};
use crate::faces::text::turnover::render_turnover_text;
use crate::faces::text::turnover_hindcast::render_turnover_hindcast;
use crate::faces::{Reader, render_turnover_html};
use crate::hindcast::load_hindcast;
use crate::hindcast::outlook::{OutlookOptions, hindcast_turnover};
use crate::reports::{OutlookOf, TurnoverOutlook, outlook_out_of_season, turnover_outlook};
use crate::series::SeriesSet;
use crate::trips::{StoredTrip, TripError};

/// Arguments of `turnover`.
#[derive(Debug, Clone, Args)]
pub struct TurnoverArgs {
    /// Lake file, or the name of one in the configuration folder (without .toml)
    #[arg(long, value_name = "FILE|NAME", conflicts_with = "demo")]
    pub lake: Option<String>,
    /// Lake, store, clock
    #[command(flatten)]
    pub session: SessionArgs,
    /// Let past years count by how like their late summer was to this one
    #[arg(long)]
    pub analogs: bool,
    /// Issue outlooks anew in past years, 60 to 10 days ahead, by the tables of the lake file's block [hindcast], and score them
    #[arg(long, conflicts_with_all = ["demo", "as_of", "store", "quality", "record", "replay", "offline", "analogs"])]
    pub hindcast: bool,
    /// With --hindcast: folder that holds the tables of the lake file; its own without it
    #[arg(long, value_name = "DIR", requires = "hindcast")]
    pub tables: Option<PathBuf>,
    /// Form of the outlook
    #[arg(long, value_enum, default_value_t = TurnoverFormat::Text)]
    pub format: TurnoverFormat,
    /// Units of the text and the page
    #[arg(long, value_enum, default_value_t = UnitsArg::Us)]
    pub units: UnitsArg,
}

/// Form of the outlook.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum TurnoverFormat {
    /// For people, 80 columns
    Text,
    /// One page with everything it needs inside
    Html,
    /// For programs: SI and UTC
    Json,
}

/// The command.
///
/// # Errors
/// No lake, a faulty lake file, a store that cannot be read at all. Services that fail are gaps.
pub fn run(args: &TurnoverArgs) -> Result<Status, Error> {
    if args.hindcast {
        return hindcast(args);
    }
    let session = session::open(&args.session, args.lake.as_deref())?;
    let weights = if args.analogs {
        YearWeights::Analog
    } else {
        YearWeights::Equal
    };
    let today = session.clock.standard_day(session.as_of);
    let season = season_of(&session.lake);
    let outlook = match (season.around(today), season.next(today)) {
        // Out of season nothing is fetched for an answer that needs none.
        (None, Some(next)) => outlook_out_of_season(&session.lake, session.as_of, next),
        _ => {
            let set = fetched_set(&session)?;
            let trips = trips_so_far(&session);
            let outlook = outlook_of(&session, &set, &trips, weights)?;
            // What is not to be relied on, or was tried another way, is no forecast that notices or the record may take up.
            if outlook.enough && weights == YearWeights::Equal {
                forecasts::keep_outlook(&session, &outlook);
            } else {
                output::remark(
                    "This outlook is not kept: notices, digest and skill go by those of all years alike, from data in time.",
                );
            }
            outlook
        }
    };
    let reader = Reader::new(args.units.into(), session.clock.zone());
    output::print(&match args.format {
        TurnoverFormat::Text => render_turnover_text(&outlook, &reader, output::ink()),
        TurnoverFormat::Html => render_turnover_html(&outlook, &reader),
        TurnoverFormat::Json => render_turnover_json(&outlook).map_err(|source| Error::Json { source })?,
    })?;
    Ok(if outlook.enough {
        Status::Good
    } else {
        Status::TooThin
    })
}

/// Outlooks of past years and their scores. Nothing is fetched, and no store is read.
fn hindcast(args: &TurnoverArgs) -> Result<Status, Error> {
    if args.format == TurnoverFormat::Html {
        return Err(Error::HindcastPage);
    }
    let file = lakes::lake_file(args.lake.as_deref())?;
    let lake = lakes::read(&file)?;
    let folder = match &args.tables {
        Some(folder) => folder.clone(),
        None => file.parent().map(Path::to_owned).unwrap_or_default(),
    };
    let input = load_hindcast(lake, &folder)?;
    let found = hindcast_turnover(&[input], &OutlookOptions::default())?;
    output::print(&match args.format {
        TurnoverFormat::Json => {
            render_turnover_hindcast_json(&found).map_err(|source| Error::Json { source })?
        }
        TurnoverFormat::Text | TurnoverFormat::Html => render_turnover_hindcast(&found),
    })?;
    Ok(Status::Good)
}

/// The outlook of a session from its flagged series; `trips` are those of the log.
///
/// # Errors
/// The lake file cannot be read any more.
pub fn outlook_of(
    session: &Session,
    set: &SeriesSet,
    trips: &Result<Vec<StoredTrip>, TripError>,
    weights: YearWeights,
) -> Result<TurnoverOutlook, Error> {
    let lake = &session.lake;
    let today = session.clock.standard_day(set.as_of);
    let season = season_of(lake);
    let Some((from, until)) = season.around(today) else {
        let next = season.next(today).unwrap_or(today);
        return Ok(outlook_out_of_season(lake, set.as_of, next));
    };
    let conditions = conditions_at(lake, set);
    let level_m = conditions.pool.as_ref().map(|pool| pool.elevation_m);
    let options = SeasonOptions {
        weights,
        ..SeasonOptions::until(until)
    };
    let advanced = columns_of_session(session, set, trips, level_m)?;
    let runs = advanced.and_then(|advanced| season_runs(lake, set, &advanced, &options));
    let of = OutlookOf {
        lake,
        conditions: &conditions,
        season: (from, until),
    };
    let why = runs.as_ref().map_err(ToString::to_string);
    Ok(turnover_outlook(
        &of,
        why.as_ref().map(|runs| *runs).map_err(String::as_str),
    ))
}
