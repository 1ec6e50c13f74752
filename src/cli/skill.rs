//! `plungeline skill`: how the calls have done against the trips that followed.

use clap::{Args, ValueEnum};

use super::args::{SessionArgs, UnitsArg};
use super::morning::trips_so_far;
use super::{calls, output, session};
use crate::error::{Error, Status};
use crate::faces::Reader;
use crate::faces::json::render_skill_json;
use crate::faces::text::skill::render_skill;
use crate::faces::words::capitalised;
use crate::reports::{header, skill_page, species_of};
use crate::species::builtin_ids;
use crate::trips::Known;

/// Arguments of `skill`.
#[derive(Debug, Clone, Args)]
pub struct SkillArgs {
    /// Lake file, or the name of one in the configuration folder (without .toml)
    #[arg(long, value_name = "FILE|NAME", conflicts_with = "demo")]
    pub lake: Option<String>,
    /// Use the invented demonstration lake; its store is in the cache folder, never yours
    #[arg(long)]
    pub demo: bool,
    /// Set the clock: a date (04:30 at the lake), a date and time at the lake, or RFC 3339
    #[arg(long, value_name = "TIME")]
    pub as_of: Option<String>,
    /// The store, and the log in it, are in this folder
    #[arg(long, value_name = "DIR")]
    pub store: Option<std::path::PathBuf>,
    /// Score calls of replayed mornings as if they had been made then: a rehearsal, and no record
    #[arg(long)]
    pub with_replayed: bool,
    /// Form of the page
    #[arg(long, value_enum, default_value_t = SkillFormat::Text)]
    pub format: SkillFormat,
    /// Units of the text
    #[arg(long, value_enum, default_value_t = UnitsArg::Us)]
    pub units: UnitsArg,
}

/// Form of the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SkillFormat {
    /// For people, 80 columns
    Text,
    /// For programs: SI and UTC
    Json,
}

/// The command. Nothing is fetched.
///
/// # Errors
/// No lake, a log or a folder of calls that cannot be read.
pub fn run(args: &SkillArgs) -> Result<Status, Error> {
    let offline = SessionArgs::offline(args.demo, args.as_of.as_deref(), args.store.as_deref());
    let session = session::open(&offline, args.lake.as_deref())?;
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
    )?;
    let reader = Reader {
        units: args.units.into(),
        zone: session.clock.zone(),
    };
    let name = |id: &str| {
        let named = species.iter().find(|s| s.id == id);
        named.map_or_else(|| id.to_owned(), |s| capitalised(&s.name))
    };
    output::print(&match args.format {
        SkillFormat::Text => render_skill(&page, &reader, &name),
        SkillFormat::Json => render_skill_json(&page).map_err(|source| Error::Json { source })?,
    })?;
    Ok(Status::Good)
}
