//! `digest send`: the letter of the week, once for each reader.

use std::io::IsTerminal as _;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use chrono::{DateTime, TimeDelta, Utc};
use etcetera::BaseStrategy as _;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use super::args::SendArgs;
use super::command::Run;
use super::letters::Letters;
use crate::cli::output;
use crate::delivery::{
    DeliveryError, DeliveryState, Event, Fault, MailSettings, Pace, Prepared, Tally, Week, dry_run, faulty,
    read_settings_file, send,
};
use crate::error::{Error, Status};

/// Name of the settings in the configuration folder.
const SETTINGS: &str = "mail.toml";

/// The command.
///
/// # Errors
/// Settings, password, letters, the mail server, the store.
pub(super) fn run(run: &Run, args: &SendArgs) -> Result<Status, Error> {
    let settings = read_settings_file(&settings_path(args.settings.as_deref()))?;
    let Some((week, until)) = week_of(run, args, &settings)? else {
        return Ok(Status::Good);
    };
    let pace = Pace {
        lake: &run.session.lake.id,
        week,
        until,
        stay: Duration::from_secs(60 * u64::from(args.stay_min)),
    };
    let mut book = run.book()?;
    // A timer asks every few minutes: no letter is made where none is due.
    if args.if_due && !args.dry_run && !book.has_work(week, until, run.now())? {
        return Ok(Status::Good);
    }
    let letters = Letters::new(run, &settings, week, args.message.as_deref())?;
    // A letter cannot be called back: what a brief only marks is not sent.
    if let Some(lack) = letters.lacking() {
        // A timer that asks every quarter of an hour would be mailed about it every quarter of an hour.
        if args.if_due && !args.dry_run && !book.first_told(week, &lack, run.now())? {
            return Ok(Status::Good);
        }
        output::remark(&format!(
            "{week}: nothing is sent: the data are too old or too thin to trust (`plungeline brief` says which); run \
             `plungeline pull`, then send again"
        ));
        return Ok(Status::TooThin);
    }
    let mut make = |reader: &_, id: &str| letters.make(reader, id);
    let mut told = Told::new();
    if args.dry_run {
        let prepared = dry_run(&book, &settings, pace, run.now(), &mut make, &mut |e| {
            told.hear(&e)
        })?;
        told.end();
        tell_prepared(&prepared, week, &settings);
        return Ok(Status::Good);
    }
    let began = Instant::now();
    let clock = || -> DateTime<Utc> {
        let gone = TimeDelta::from_std(began.elapsed()).unwrap_or(TimeDelta::zero());
        run.now() + gone
    };
    let tally = send(&mut book, &settings, pace, &clock, &mut make, &mut |e| {
        told.hear(&e)
    });
    told.end();
    if tally.is_err() && told.handed > 0 {
        output::remark(&format!(
            "{week}: {} handed over before the run ended",
            told.handed
        ));
    }
    tell_tally(&tally?, week)
}

/// The mail settings that were named, or those of the configuration folder.
pub(super) fn settings_path(named: Option<&Path>) -> PathBuf {
    match named {
        Some(path) => path.to_owned(),
        None => match etcetera::choose_base_strategy() {
            Ok(base) => base.config_dir().join("plungeline").join(SETTINGS),
            Err(_) => SETTINGS.into(),
        },
    }
}

/// The first week whose letters are still sent: that of the day, or the one before while its hour lies no further back than the
/// schedule allows.
///
/// # Errors
/// Settings that are there and faulty.
pub(super) fn first_open_week(run: &Run, named: Option<&Path>) -> Result<Week, Error> {
    let this = Week::of(run.today());
    let schedule = match read_settings_file(&settings_path(named)) {
        Ok(settings) => settings.schedule,
        // Who sends by hand has no schedule, and the settings may be another file.
        Err(DeliveryError::NoSettings { .. }) if named.is_none() => None,
        Err(error) => return Err(error.into()),
    };
    let slot = schedule.map(|schedule| schedule.last_slot(&run.session.clock, run.now()));
    Ok(match slot {
        Some(slot) if !slot.passed => slot.week.min(this),
        _ => this,
    })
}

/// The week of the letter, and up to when a reader must have been confirmed to get it; `None`, said why, where nothing is due.
fn week_of(
    run: &Run,
    args: &SendArgs,
    settings: &MailSettings,
) -> Result<Option<(Week, DateTime<Utc>)>, Error> {
    if !args.if_due {
        return Ok(Some((Week::of(run.today()), run.now())));
    }
    let Some(schedule) = settings.schedule else {
        let fault = Fault::new(
            "[schedule]",
            "none",
            "weekday and time, for --if-due",
            "see docs/digest.md",
        );
        return Err(faulty("the mail settings", vec![fault]).into());
    };
    let slot = schedule.last_slot(&run.session.clock, run.now());
    if slot.passed {
        tracing::info!(week = %slot.week, "the letter is no longer due");
        return Ok(None);
    }
    Ok(Some((slot.week, slot.at)))
}

/// What is told on the way: a bar on a terminal, else a line for each letter that did not go.
struct Told {
    bar: ProgressBar,
    handed: usize,
}

impl Told {
    fn new() -> Told {
        let target = if std::io::stderr().is_terminal() {
            ProgressDrawTarget::stderr()
        } else {
            ProgressDrawTarget::hidden()
        };
        let style = ProgressStyle::with_template("letters [{bar:40}] {pos}/{len} {eta}")
            .expect("the template is a constant that the library accepts")
            .progress_chars("=> ");
        Told {
            bar: ProgressBar::with_draw_target(Some(0), target).with_style(style),
            handed: 0,
        }
    }

    fn hear(&mut self, event: &Event<'_>) {
        match event {
            Event::Due(count) => self.bar.set_length(*count as u64),
            Event::Suspended(reader) => self.line(&format!(
                "{}: the address was refused for good; nothing more is sent to this reader (suspended)",
                reader.mailbox
            )),
            Event::Trouble(said) => self.line(&format!("trouble with the mail server, trying again: {said}")),
            Event::Sent(reader, state, said) => {
                self.handed += usize::from(*state == DeliveryState::Handed);
                let what = match state {
                    DeliveryState::Failed => "refused for good",
                    DeliveryState::Due if said.is_empty() => "",
                    DeliveryState::Due => "put off",
                    DeliveryState::Unknown => "of unknown fate, not sent again by itself",
                    _ => "",
                };
                if *state != DeliveryState::Due || said.is_empty() {
                    self.bar.inc(1);
                }
                if !what.is_empty() {
                    self.line(&format!("{}: {what}: {said}", reader.mailbox));
                }
            }
        }
    }

    fn line(&self, text: &str) {
        self.bar.suspend(|| output::remark(text));
    }

    fn end(&self) {
        self.bar.finish_and_clear();
    }
}

fn tell_prepared(prepared: &Prepared, week: Week, settings: &MailSettings) {
    let Prepared {
        letters,
        octets,
        largest,
    } = prepared;
    output::remark(&format!(
        "{week}: {letters} letters of {octets} bytes in all, the largest {largest}; nothing was sent. At {} a minute: {} min",
        settings.per_minute,
        letters.div_ceil(settings.per_minute as usize)
    ));
}

/// Says what came of it. Anything that a person has to look at makes the run a failed one, so that cron and timers report it.
fn tell_tally(tally: &Tally, week: Week) -> Result<Status, Error> {
    let mut parts = vec![format!("{} handed over", tally.handed)];
    let mut part = |count: usize, words: &str| {
        if count > 0 {
            parts.push(format!("{count} {words}"));
        }
    };
    part(tally.failed, "refused for good");
    part(tally.unknown, "of unknown fate");
    part(tally.left_unknown, "of unknown fate from earlier runs");
    output::remark(&format!("{week}: {}", parts.join(", ")));
    if let Some(next) = tally.next_try {
        let next = next.to_rfc3339_opts(chrono::SecondsFormat::Secs, true);
        output::remark(&format!("some were put off; run this again from {next} on"));
    }
    if tally.unknown + tally.left_unknown > 0 {
        output::remark(
            "see plungeline digest ledger list, ask the readers, and say what became of these letters with plungeline digest ledger \
             resolve",
        );
    }
    let all_well = tally.failed + tally.unknown + tally.left_unknown == 0;
    Ok(if all_well { Status::Good } else { Status::Failed })
}
