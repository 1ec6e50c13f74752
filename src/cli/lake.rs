//! `plungeline lake`: begin, check or show a lake description.

use std::path::PathBuf;

use clap::{Args, Subcommand};

use super::args::UnitsArg;
use super::lake_new::{self, LakeNewArgs};
use super::{lakes, output};
use crate::error::{Error, Status};
use crate::faces::faults::{render_count, render_fault};
use crate::faces::lake::{orders_of, render_lake, render_lake_schema};
use crate::lake::LakeError;

/// Arguments of `lake`.
#[derive(Debug, Clone, Args)]
pub struct LakeArgs {
    /// What to do
    #[command(subcommand)]
    pub action: LakeAction,
}

/// What to do with a lake file.
#[derive(Debug, Clone, Subcommand)]
pub enum LakeAction {
    /// Begin a lake file: find stations near a position or under a name, and write a commented draft
    New(Box<LakeNewArgs>),
    /// Print every fault of lake files, with its place, what was wanted, and how to mend it
    Check {
        /// Lake files
        #[arg(required = true)]
        files: Vec<PathBuf>,
    },
    /// Print what was understood of a lake file
    Show {
        /// Lake file, or the name of one in the configuration folder
        lake: Option<String>,
        /// Units
        #[arg(long, value_enum, default_value_t = UnitsArg::Us)]
        units: UnitsArg,
    },
    /// Print the JSON Schema of the lake file, by which editors complete and check it
    Schema,
}

/// The command.
///
/// # Errors
/// A file that cannot be read, or, for `show`, one with faults; for `new`, as [`lake_new::run`].
pub fn run(args: &LakeArgs) -> Result<Status, Error> {
    match &args.action {
        LakeAction::New(args) => lake_new::run(args),
        LakeAction::Check { files } => check(files),
        LakeAction::Show { lake, units } => {
            let lake = lakes::read(&lakes::lake_file(lake.as_deref())?)?;
            output::print(&render_lake(&lake, (*units).into()))?;
            Ok(Status::Good)
        }
        LakeAction::Schema => {
            output::print(&render_lake_schema().map_err(|source| Error::Json { source })?)?;
            Ok(Status::Good)
        }
    }
}

fn check(files: &[PathBuf]) -> Result<Status, Error> {
    let mut status = Status::Good;
    for file in files {
        match lakes::read(file) {
            Ok(lake) => {
                output::remark(&format!("{}: {}", file.display(), render_count(0)));
                for order in orders_of(&lake) {
                    output::remark(&format!("{}: order of {order}", file.display()));
                }
            }
            Err(LakeError::Faulty { faults, .. }) => {
                // Only faults go to standard output, so that every line of it begins with a place.
                let lines: Vec<String> = faults.iter().map(|fault| render_fault(fault) + "\n").collect();
                output::print(&lines.concat())?;
                output::remark(&format!("{}: {}", file.display(), render_count(faults.len())));
                status = Status::Usage;
            }
            // One file that cannot be read does not keep the others from being checked.
            Err(error @ (LakeError::Unreadable { .. } | LakeError::NoBrief { .. })) => {
                output::complain(&error.into());
                status = Status::Usage;
            }
        }
    }
    Ok(status)
}
