//! `plungeline digest preview`.

use super::args::{DigestArgs, DigestCommand, DigestFormat, PreviewArgs};
use super::make::digest;
use crate::cli::{output, session};
use crate::error::{Error, Status};

/// The command.
///
/// # Errors
/// Those of the digest; a file that cannot be written.
pub fn run(args: &DigestArgs) -> Result<Status, Error> {
    match &args.command {
        DigestCommand::Preview(args) => preview(args),
    }
}

fn preview(args: &PreviewArgs) -> Result<Status, Error> {
    let session = session::open(&args.session, args.lake.as_deref())?;
    let digest = digest(&session, args.share_trips)?;
    let json = serde_json::to_string_pretty(&digest).map_err(|source| Error::Json { source })?;
    output::print(&json)?;
    Ok(Status::Good)
}
