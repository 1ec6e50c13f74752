//! `plungeline skill`: how far the numbers can be trusted: forecasts against what came, calls against trips.

use clap::{Args, ValueEnum};

use super::args::{SessionArgs, UnitsArg};
use super::invented_forecasts::{self, invented_forecasts};
use super::morning::{fetched_set, trips_so_far};
use super::session::Session;
use super::{calls, forecasts, output, session};
use crate::conditions::{ObservedDays, observed_days};
use crate::error::{Error, Status};
use crate::faces::Reader;
use crate::faces::html::render_skill_html;
use crate::faces::json::render_skill_json;
use crate::faces::text::skill::render_skill;
use crate::faces::words::capitalised;
use crate::hindcast::ObservedProfile;
use crate::hindcast::turnover::{Hemisphere, observed_turnovers};
use crate::quality::flag_set;
use crate::reports::forecasts::{ForecastParts, ForecastSkill, forecast_skill, level_hour};
use crate::reports::{header, skill_page, species_of};
use crate::skill::turnover_record::ObservedTurnover;
use crate::species::builtin_ids;
use crate::trips::Known;

/// Arguments of `skill`.
#[derive(Debug, Clone, Args)]
pub struct SkillArgs {
    /// Lake file, or the name of one in the configuration folder (without .toml)
    #[arg(long, value_name = "FILE|NAME", conflicts_with = "demo")]
    pub lake: Option<String>,
    /// Use the invented demonstration lake, with invented forecasts; its store is in the cache folder, never yours
    #[arg(long)]
    pub demo: bool,
    /// Set the clock: a date (04:30 at the lake), a date and time at the lake, or RFC 3339
    #[arg(long, value_name = "TIME")]
    pub as_of: Option<String>,
    /// The store, and the log in it, are in this folder
    #[arg(long, value_name = "DIR")]
    pub store: Option<std::path::PathBuf>,
    /// Score calls and forecasts of replayed mornings as if they had been made then: a rehearsal, and no record
    #[arg(long)]
    pub with_replayed: bool,
    /// Form of the page
    #[arg(long, value_enum, default_value_t = SkillFormat::Text)]
    pub format: SkillFormat,
    /// Units of the text and the page
    #[arg(long, value_enum, default_value_t = UnitsArg::Us)]
    pub units: UnitsArg,
}

/// Form of the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SkillFormat {
    /// For people, 80 columns
    Text,
    /// One page for a phone or a browser, with everything it needs inside
    Html,
    /// For programs: SI and UTC
    Json,
}

/// The command. Nothing is fetched, but for the demonstration, whose store is filled from its own replies.
///
/// # Errors
/// No lake, a log or a folder of calls or forecasts that cannot be read.
pub fn run(args: &SkillArgs) -> Result<Status, Error> {
    let asked = SessionArgs {
        offline: !args.demo,
        ..SessionArgs::offline(args.demo, args.as_of.as_deref(), args.store.as_deref())
    };
    let session = session::open(&asked, args.lake.as_deref())?;
    let species = species_of(&session.lake)?;
    let ids: Vec<&str> = builtin_ids().collect();
    let known = Known {
        lake: &session.lake,
        species: &ids,
        as_of: session.as_of,
    };
    let trips = trips_so_far(&session)?;
    let (calls, unreadable) = calls::so_far(&session)?;
    let page = skill_page(
        header(&session.lake),
        &known,
        (&calls, unreadable, args.with_replayed),
        &trips,
        forecasts_of(&session, args)?,
    )?;
    let reader = Reader::new(args.units.into(), session.clock.zone());
    let name = |id: &str| {
        let named = species.iter().find(|s| s.id == id);
        named.map_or_else(|| id.to_owned(), |s| capitalised(&s.name))
    };
    output::print(&match args.format {
        SkillFormat::Text => render_skill(&page, &reader, &name, output::ink()),
        SkillFormat::Html => render_skill_html(&page, &reader, &name),
        SkillFormat::Json => render_skill_json(&page).map_err(|source| Error::Json { source })?,
    })?;
    Ok(Status::Good)
}

/// The forecasts' part: what was kept, set against what the store holds. A demonstration without a forecast that counts shows invented ones.
fn forecasts_of(session: &Session, args: &SkillArgs) -> Result<ForecastSkill, Error> {
    let (mut kept, unreadable) = forecasts::so_far(session)?;
    let (outlooks, unreadable_outlooks) = forecasts::turnovers_so_far(session)?;
    let set = if args.demo {
        fetched_set(session)?
    } else {
        let mut set = session.store.load(&session.lake, session.as_of);
        flag_set(&mut set, &session.lake, &session.thresholds);
        set
    };
    let invented = args.demo && !args.with_replayed && kept.iter().all(|forecast| forecast.replayed);
    let hour = match invented {
        true => invented_forecasts::HOUR,
        false => level_hour(&kept),
    };
    let observed = observed_days(&session.lake, &set, hour);
    if invented {
        kept = invented_forecasts(session, &observed);
    }
    let turnovers = turnovers(session, &observed);
    Ok(forecast_skill(&ForecastParts {
        lake: &session.lake,
        as_of: session.as_of,
        forecasts: &kept,
        outlooks: &outlooks,
        unreadable: unreadable + unreadable_outlooks,
        observed: &observed,
        turnovers: &turnovers,
        with_replayed: args.with_replayed,
        invented,
    })?)
}

/// Turnovers of the main body between its observed profiles.
fn turnovers(session: &Session, observed: &ObservedDays) -> Vec<ObservedTurnover> {
    let hemisphere = match session.lake.latitude_deg < 0.0 {
        true => Hemisphere::South,
        false => Hemisphere::North,
    };
    let profiles: Vec<ObservedProfile> = (observed.profiles.iter())
        .map(|profile| ObservedProfile {
            day: profile.date,
            time: session.clock.standard_day_start(profile.date),
            depth_m: profile.depth_m.clone(),
            value: profile.temp_degc.clone(),
        })
        .collect();
    let found = observed_turnovers(&profiles, hemisphere).into_iter();
    found
        .map(|(_, mixing)| ObservedTurnover {
            last_stratified: mixing.last_stratified,
            first_mixed: mixing.first_mixed,
        })
        .collect()
}
