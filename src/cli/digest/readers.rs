//! `digest readers`: who gets the letter.

use std::path::Path;

use super::args::{ConsentArgs, FormArgs, ReadersAction};
use super::command::{Run, bytes_of, mailbox};
use crate::cli::output;
use crate::delivery::table::{read_consent, read_readers, readers_csv};
use crate::delivery::{Joined, NewReader, checked_name, faulty, write_private};
use crate::error::{Error, Status};
use crate::faces::readers::render_readers;

/// The command.
///
/// # Errors
/// Faulty arguments or tables, an address that is or is not there, a list that cannot be read or written.
pub(super) fn run(run: &Run, action: &ReadersAction) -> Result<Status, Error> {
    match action {
        ReadersAction::Add {
            address,
            name,
            form,
            consent,
            rejoin,
        } => add(run, (address, name.as_deref()), *form, consent, *rejoin)?,
        ReadersAction::Confirm {
            address,
            token,
            consent,
        } => confirm(run, address, token.as_deref(), consent)?,
        ReadersAction::Remove { address } => {
            let address = mailbox(address)?;
            let was_there = run.book()?.remove(&address, run.now())?;
            output::remark(&match was_there {
                true => {
                    format!("{address} is removed; a letter that is on its way already cannot be called back")
                }
                false => format!("{address} was not on the list, and no table will bring it in"),
            });
        }
        ReadersAction::List => output::print(&render_readers(&run.book()?.readers()?))?,
        ReadersAction::Import { file, form } => import(run, file, *form)?,
        ReadersAction::Export { out } => export(run, out.as_deref())?,
    }
    Ok(Status::Good)
}

fn add(
    run: &Run,
    (address, name): (&str, Option<&str>),
    form: FormArgs,
    consent: &ConsentArgs,
    rejoin: bool,
) -> Result<(), Error> {
    let (units, decimal, hours) = form.words();
    let mut faults = Vec::new();
    let mailbox = crate::delivery::Mailbox::for_list(address)
        .map_err(|fault| faults.push(fault))
        .ok();
    let name = checked_name(name.unwrap_or(""))
        .map_err(|fault| faults.push(fault))
        .ok();
    let consent = given(run, consent).map_err(|fault| faults.push(fault)).ok();
    let (Some(mailbox), Some(name), Some(consent)) = (mailbox, name, consent) else {
        return Err(faulty("the arguments", faults).into());
    };
    let new = NewReader {
        mailbox,
        name,
        units,
        decimal,
        hours,
        consent,
    };
    let how = (rejoin, &run.session.clock);
    match run.book()?.add(&new, how, run.now())? {
        Joined::Confirmed => output::remark(&format!("{} gets the next letter", new.mailbox)),
        Joined::Pending { token } => tell_token(&new.mailbox, &token)?,
    }
    Ok(())
}

/// The consent of the arguments.
fn given(
    run: &Run,
    args: &ConsentArgs,
) -> Result<Option<(chrono::NaiveDate, String)>, crate::delivery::Fault> {
    match (&args.consent, &args.source) {
        (Some(day), Some(source)) => read_consent(day, source, run.today()).map(Some),
        _ => Ok(None),
    }
}

fn confirm(run: &Run, address: &str, token: Option<&str>, consent: &ConsentArgs) -> Result<(), Error> {
    let address = mailbox(address)?;
    let mut book = run.book()?;
    match token {
        Some(token) => book.confirm_by_token(&address, token, run.today(), run.now())?,
        None => {
            let consent = given(run, consent).map_err(|fault| faulty("the arguments", vec![fault]))?;
            if let Some((day, source)) = consent {
                book.confirm_by_owner(&address, (day, &source), run.now())?;
            }
        }
    }
    output::remark(&format!("{address} gets the next letter"));
    Ok(())
}

/// The word goes to standard output, so that it can be sent on; it is kept nowhere.
fn tell_token(mailbox: &crate::delivery::Mailbox, token: &str) -> Result<(), Error> {
    output::print(&format!("{mailbox} {token}\n"))?;
    output::remark(&format!(
        "{mailbox} is still to confirm: send the word to this address, and give it to plungeline digest readers confirm when it \
         comes back"
    ));
    Ok(())
}

fn import(run: &Run, file: &Path, form: FormArgs) -> Result<(), Error> {
    let bytes = bytes_of(Some(file))?;
    let origin = file.display().to_string();
    let readers = read_readers(&bytes, &origin, form.words(), run.today())?;
    let done = run.book()?.import(&readers, run.now())?;
    for mailbox in &done.known {
        output::remark(&format!("{mailbox} is on the list already, and stays as it is"));
    }
    for mailbox in &done.removed {
        output::remark(&format!("{mailbox} was removed, and stays so"));
    }
    for (mailbox, token) in &done.pending {
        output::print(&format!("{mailbox} {token}\n"))?;
    }
    output::remark(&format!(
        "{} added, {} of them still to confirm; {} there already; {} removed before",
        done.confirmed + done.pending.len(),
        done.pending.len(),
        done.known.len(),
        done.removed.len()
    ));
    Ok(())
}

fn export(run: &Run, out: Option<&Path>) -> Result<(), Error> {
    let table = readers_csv(&run.book()?.readers()?);
    match out {
        None => output::print(&table),
        Some(path) => write_private(path, table.as_bytes()).map_err(|source| Error::NotWritten {
            path: path.to_owned(),
            source,
        }),
    }
}
