//! The command: from the log to the page, and to the fit that briefs go by.

use std::collections::BTreeSet;

use chrono::{DateTime, Utc};

use super::args::{FitArgs, FitFormat};
use super::invented::invented_trips;
use super::mornings;
use crate::cli::morning::{fetched_set, fits, trips_so_far};
use crate::cli::water::{SessionWater, water_of_morning, worth_telling};
use crate::cli::{calls, output, session};
use crate::error::{Error, Status};
use crate::faces::Reader;
use crate::faces::json::render_fit_json;
use crate::faces::text::fit::render_fit;
use crate::lake::{Lake, SpeciesId, ZoneId, ZoneKind};
use crate::reports::{FitPageParts, fit_page, species_of};
use crate::species::{Species, builtin_ids};
use crate::trips::{Known, StoredTrip};
use crate::whereabouts::learn::report::ReportAsked;
use crate::whereabouts::learn::{
    FIT_FORM, Features, FitOptions, KeptFit, KeptOptions, KeptSpecies, LogRows, Morning, SpeciesFit,
    SpeciesRows, fit_report, log_rows, trip_sha256,
};
use crate::whereabouts::mature_frac;

/// Draws of the coefficients for the shares of the page, and their seed.
const DRAWS: usize = 4000;
const SEED: u64 = 0x706C_756E_6765;

/// The command.
///
/// # Errors
/// No lake, a log that cannot be read, rows that no fit can use.
pub fn run(args: &FitArgs) -> Result<Status, Error> {
    let session = session::open(&args.session, args.lake.as_deref())?;
    session.lake.check_for_brief()?;
    let set = fetched_set(&session)?;
    let species = species_of(&session.lake)?;
    let ids: Vec<&str> = builtin_ids().collect();
    let known = Known {
        lake: &session.lake,
        species: &ids,
        as_of: session.as_of,
    };
    let mut trips = trips_so_far(&session)?;
    let invented = args.session.demo && trips.is_empty();
    if invented {
        trips = invented_trips(&known)?;
    }
    let trips = Ok(trips);
    let SessionWater {
        morning, lake_file, ..
    } = water_of_morning(&session, &set, &trips)?;
    let trips = trips?;
    worth_telling(&morning.told).for_each(|said| output::remark(&said));
    let today = calls::offered(&session, &species, &morning);
    let (offered, mornings) =
        mornings::of_trips(&session, (&trips, lake_file), (&species, &set), args.afresh)?;
    let rows = log_rows(&trips, &known, &species, &offered);
    let options = FitOptions {
        half_life_days: args.half_life_days,
        with_reports: !args.without_reports,
        with_marks: !args.without_marks,
        pooled: args.together,
        ..FitOptions::on(session.clock.civil_day(session.as_of))
    };
    let fitted = Fitted::of(&session.lake, &species, (&rows, &today), &options)?;
    let used = used_trips(&rows);
    let keeps = !(args.only_show || invented || used.is_empty());
    let newer = fits(&session)
        .newest_clock()?
        .filter(|newest| *newest > session.as_of);
    if keeps {
        let kept = fitted.kept(&session.lake, (&trips, &used), (session.as_of, &options));
        let json = serde_json::to_string(&kept).map_err(|source| Error::Json { source })?;
        fits(&session).keep(session.as_of, &json)?;
    }
    let page = fit_page(
        &FitPageParts {
            lake: &session.lake,
            as_of: session.as_of,
            trips: trips.len(),
            invented,
            used: used.len(),
            kept: keeps,
            newer,
            options: KeptOptions::from(&options),
            mornings,
            left_out: &rows.left_out,
        },
        fitted.report,
    );
    let reader = Reader::new(args.units.into(), session.clock.zone());
    output::print(&match args.format {
        FitFormat::Text => render_fit(&page, &reader),
        FitFormat::Json => render_fit_json(&page).map_err(|source| Error::Json { source })?,
    })?;
    Ok(Status::Good)
}

/// The fits of all species and what is to be said of them.
struct Fitted {
    kept: Vec<(SpeciesId, KeptSpecies)>,
    report: crate::whereabouts::learn::FitReport,
}

impl Fitted {
    /// Fits `species` to their rows; `today` is what this morning offers.
    fn of(
        lake: &Lake,
        species: &[Species],
        (rows, today): (&LogRows, &Features),
        options: &FitOptions,
    ) -> Result<Fitted, Error> {
        let caught = &rows.caught;
        let rows: Vec<SpeciesRows<'_>> = species
            .iter()
            .zip(&rows.trips)
            .map(|(species, trips)| SpeciesRows {
                species,
                mature_frac: mature_frac(lake, species),
                trips,
            })
            .collect();
        let of_today = |species: &Species| {
            let offered = today.get(&SpeciesId::new(species.id.clone()));
            offered.map(|of| of.morning.clone())
        };
        let mornings: Option<Vec<Morning>> = species.iter().map(of_today).collect();
        let fishable = fishable(lake);
        let asked = ReportAsked {
            fishable: &fishable,
            caught: Some(caught),
            mornings: &mornings.unwrap_or_default(),
            draws: DRAWS,
            seed: SEED,
        };
        let (fits, report) = fit_report(&rows, options, &asked)?;
        let kept = |(fit, rows): (&SpeciesFit, &SpeciesRows<'_>)| {
            (
                SpeciesId::new(rows.species.id.clone()),
                KeptSpecies::of(fit, rows),
            )
        };
        Ok(Fitted {
            kept: fits.iter().zip(&rows).map(kept).collect(),
            report,
        })
    }

    /// The fit as it is kept: it rests on the trips whose number is in `used`.
    fn kept(
        &self,
        lake: &Lake,
        (trips, used): (&[StoredTrip], &BTreeSet<u32>),
        (as_of, options): (DateTime<Utc>, &FitOptions),
    ) -> KeptFit {
        let with_part = || trips.iter().filter(|(number, _)| used.contains(number));
        let without = trips.iter().filter(|(number, _)| !used.contains(number));
        KeptFit {
            form: FIT_FORM.to_owned(),
            lake: lake.id.clone(),
            as_of,
            options: KeptOptions::from(options),
            trips: with_part()
                .map(|(number, trip)| (*number, trip_sha256(trip)))
                .collect(),
            passed_over: without.map(|(number, _)| *number).collect(),
            newest_trip: with_part().map(|(_, trip)| trip.date).max(),
            scout: (lake.species.iter())
                .filter_map(|species| self.report.species.get(&species.id))
                .find_map(|report| report.choice.scout.clone()),
            species: self.kept.iter().cloned().collect(),
        }
    }
}

/// Numbers of the trips with rows for any species.
fn used_trips(rows: &LogRows) -> BTreeSet<u32> {
    let numbers = rows
        .trips
        .iter()
        .flatten()
        .filter_map(|trip| trip.trip.parse().ok());
    numbers.collect()
}

/// Zones that can be fished by trolling at some level.
fn fishable(lake: &Lake) -> Vec<ZoneId> {
    let standing = lake.zones.iter().filter(|zone| zone.kind != ZoneKind::River);
    standing.map(|zone| zone.id.clone()).collect()
}
