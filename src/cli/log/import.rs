//! `log import`.

use super::args::{ImportArgs, ImportFormat};
use super::command::Run;
use crate::cli::output;
use crate::error::{Error, Status};
use crate::faces::trips::{render_cut, render_trips};
use crate::lake::ZoneId;
use crate::trips::tracks::CutOptions;
use crate::trips::{FileForm, ImportOptions, StoredTrip, Twins, trips_in_file};

impl From<ImportFormat> for FileForm {
    fn from(format: ImportFormat) -> Self {
        match format {
            ImportFormat::Csv => FileForm::Csv,
            ImportFormat::Json => FileForm::Json,
            ImportFormat::Parquet => FileForm::Parquet,
            ImportFormat::Gpx => FileForm::Gpx,
            ImportFormat::Kml => FileForm::Kml,
        }
    }
}

/// Adds the trips of a file, all or none; those that are there already are passed over and told.
///
/// # Errors
/// A file that cannot be read or has faults, a log that cannot be written: nothing was changed then.
pub(super) fn run(run: &Run, args: &ImportArgs) -> Result<Status, Error> {
    let options = ImportOptions {
        form: args.format.map(FileForm::from),
        map: args.map.clone(),
        cut: CutOptions {
            rods: args.rods,
            reason: args.reason,
            presentation: args.presentation.clone(),
            depth_m: args.depth_m,
            zone: args.zone.as_deref().map(ZoneId::new),
        },
    };
    let imported = trips_in_file(&args.file, &options, &run.known())?;
    let mut log = run.log()?;
    let twins = if args.again { Twins::Add } else { Twins::Skip };
    let added = log.add(&imported.trips, twins, run.now())?;
    for (date, number) in &added.twins {
        output::remark(&format!(
            "the trip of {date} is in the log already, as trip {number}: not added again (--again adds it)"
        ));
    }
    for line in imported
        .cut
        .iter()
        .flat_map(|cut| render_cut(cut, imported.left_out))
    {
        output::remark(&line);
    }
    let mut shown: Vec<StoredTrip> = Vec::new();
    for number in &added.numbers {
        shown.push((*number, log.version(*number, None)?.trip));
    }
    if shown.is_empty() {
        output::remark("nothing new: the log is as it was");
    } else {
        output::print(&render_trips(&shown, run.lake()))?;
    }
    Ok(Status::Good)
}
