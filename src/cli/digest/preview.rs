//! `plungeline digest preview`: the digest as its readers would get it.

use base64::Engine as _;

use super::args::{DigestArgs, DigestFormat, PreviewArgs};
use super::letters::notation_of;
use super::make::digest;
use super::send::settings_path;
use crate::cli::args::SessionArgs;
use crate::cli::{output, session};
use crate::delivery::{DeliveryError, read_settings_file};
use crate::error::{Error, Status};
use crate::faces::digest::{
    Chart, DigestMessage, DigestSender, Drawer, ReaderLine, digest_words, level_chart, render_digest_html,
    render_digest_text, share_chart,
};
use crate::faces::json::render_digest_json;
use crate::faces::mail::{checked_address, name_for_header};
use crate::faces::{Notation, Reader};
use crate::reports::Digest;

/// The command.
///
/// # Errors
/// Those of the digest; a file that cannot be written.
pub(super) fn run(whole: &DigestArgs, args: &PreviewArgs) -> Result<Status, Error> {
    // Refused before the work, not after it.
    checked_address(&args.from)?;
    checked_address(&args.to)?;
    name_for_header(&args.name)?;
    let session = SessionArgs {
        demo: whole.demo,
        as_of: whole.as_of.clone(),
        store: whole.store.clone(),
        quality: args.quality.clone(),
        record: None,
        replay: args.replay.clone(),
        offline: args.offline,
    };
    let session = session::open(&session, whole.lake.as_deref())?;
    // As the letter would be by the settings, where there are any: a preview needs none.
    let share_trips = args.share_trips
        || match read_settings_file(&settings_path(args.settings.as_deref())) {
            Ok(settings) => settings.share_trips,
            Err(DeliveryError::NoSettings { .. }) if args.settings.is_none() => false,
            Err(error) => return Err(error.into()),
        };
    let digest = digest(&session, share_trips)?;
    let reader = Reader {
        notation: notation(args),
        ..Reader::new(args.form.units.into(), session.clock.zone())
    };
    let bytes = match args.format {
        DigestFormat::Text => render_digest_text(&digest_words(&digest, &reader)).into_bytes(),
        DigestFormat::Html => page(&digest, &reader)?.into_bytes(),
        DigestFormat::Eml => message(&digest, args)?,
        DigestFormat::Json => render_digest_json(&digest)
            .map_err(|source| Error::Json { source })?
            .into_bytes(),
    };
    match &args.out {
        Some(path) => std::fs::write(path, bytes).map_err(|source| Error::NotWritten {
            path: path.clone(),
            source,
        })?,
        None => output::print_bytes(&bytes)?,
    }
    Ok(if digest.brief.trust.enough {
        Status::Good
    } else {
        Status::TooThin
    })
}

fn notation(args: &PreviewArgs) -> Notation {
    let (_, decimal, hours) = args.form.words();
    notation_of(decimal, hours)
}

/// The HTML part with its pictures inside, for a browser.
fn page(digest: &Digest, reader: &Reader) -> Result<String, Error> {
    let mut drawer = Drawer::default();
    let charts = [
        share_chart(digest, reader, &mut drawer)?,
        level_chart(digest, reader, &mut drawer)?,
    ];
    let charts: Vec<Chart> = charts.into_iter().flatten().collect();
    let inside = |chart: &Chart| {
        let data = base64::engine::general_purpose::STANDARD.encode(&chart.png);
        format!("data:image/png;base64,{data}")
    };
    Ok(render_digest_html(
        &digest_words(digest, reader),
        &charts,
        &inside,
        "",
    ))
}

/// The whole message, dated with the clock of the digest.
fn message(digest: &Digest, args: &PreviewArgs) -> Result<Vec<u8>, Error> {
    let sender = DigestSender {
        name: digest.brief.lake.name.clone(),
        address: args.from.clone(),
        reply_to: None,
        unsubscribe_address: None,
    };
    let message = DigestMessage::new(digest, &sender, digest.brief.as_of)?;
    Ok(message.for_reader(&ReaderLine {
        message_id: None,
        address: args.to.clone(),
        name: args.name.clone(),
        units: args.form.units.into(),
        notation: notation(args),
        unsubscribe_url: args.unsubscribe_url.clone(),
    })?)
}
