//! `plungeline read`: the records in a saved reply of a service, or what is wrong in it.

use std::path::PathBuf;

use clap::Args;

use super::output;
use crate::error::{Error, Status};
use crate::faces::saved::render_saved;
use crate::sources::read_saved;

/// Arguments of `read`.
#[derive(Debug, Clone, Args)]
pub struct ReadArgs {
    /// Saved reply; `.gz` is unpacked
    pub file: PathBuf,
    /// Service that sent it; without it, the one that recognises it
    #[arg(long, value_name = "NAME")]
    pub service: Option<String>,
}

/// The command.
///
/// # Errors
/// A file that cannot be read, or bytes that are no reply of the service.
pub fn run(args: &ReadArgs) -> Result<Status, Error> {
    let bytes = std::fs::read(&args.file)
        .map_err(|source| Error::SavedReply { path: args.file.clone(), source })?;
    let saved = read_saved(args.service.as_deref(), &bytes, &args.file.display().to_string())?;
    output::print(&render_saved(&saved))?;
    for fault in &saved.faults {
        output::remark(&format!("{}: {fault}", args.file.display()));
    }
    Ok(if saved.faults.is_empty() { Status::Good } else { Status::Failed })
}
