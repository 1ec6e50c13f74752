//! A run: claim, make, hand over, keep; again until nothing is due.

use std::num::NonZeroU32;
use std::time::Duration;

use chrono::{DateTime, Utc};
use governor::clock::{Clock as _, DefaultClock};
use governor::{Quota, RateLimiter};

use super::bounce::address_status;
use super::error::DeliveryError;
use super::ledger::{Claim, DeliveryState};
use super::letter::check_letter;
use super::reader::Reader;
use super::settings::MailSettings;
use super::smtp::{Link, MailServer, NoLink, Outcome};
use super::store::{Book, random_word};
use super::week::Week;

/// Waits after troubles of the connection that follow each other; after one more the run ends.
const TROUBLE_WAITS: [Duration; 3] = [
    Duration::from_secs(1),
    Duration::from_secs(2),
    Duration::from_secs(4),
];
/// Letters in a row that may be refused for good before the run ends: then it is not the readers.
const REFUSALS_MOST: u32 = 5;
/// Longest sleep at a time while waiting for a next try.
const NAP: Duration = Duration::from_millis(200);

/// Which letters, and how long.
#[derive(Debug, Clone, Copy)]
pub struct Pace<'a> {
    /// Id of the lake.
    pub lake: &'a str,
    /// Week.
    pub week: Week,
    /// Readers who were confirmed later wait for the next week.
    pub until: DateTime<Utc>,
    /// How long the run stays to try letters again that were refused for a time.
    pub stay: Duration,
}

/// What happens on the way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Event<'a> {
    /// So many letters are due.
    Due(usize),
    /// A letter was handed over, refused for good, put off, or is of unknown fate.
    Sent(&'a Reader, DeliveryState, &'a str),
    /// Nothing more is sent to a reader whose address was refused.
    Suspended(&'a Reader),
    /// Trouble with the connection; it is tried again.
    Trouble(&'a str),
}

/// What came of a run.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Tally {
    /// Handed over.
    pub handed: usize,
    /// Refused for good.
    pub failed: usize,
    /// Of unknown fate in this run.
    pub unknown: usize,
    /// Of unknown fate from earlier runs: of this week those that nobody has settled, of others those that this run found in the
    /// middle.
    pub left_unknown: usize,
    /// Put off at least once in this run.
    pub put_off: usize,
    /// Next time at which one that was put off may be tried.
    pub next_try: Option<DateTime<Utc>>,
}

/// Makes the letter (RFC 5322) of one reader with the Message-ID that it must bear.
pub type Maker<'a, E> = dyn FnMut(&Reader, &str) -> Result<Vec<u8>, E> + 'a;

/// Sends what is due, letter by letter. `make` gives the bytes of a letter (RFC 5322) for one reader and the Message-ID that it
/// must bear; `clock` tells the time of the run.
///
/// # Errors
/// [`DeliveryError::Busy`]; [`DeliveryError::Refused`] and [`DeliveryError::Connect`], after which the rest stays due; an error
/// of `make`; a letter that must not be sent ([`DeliveryError::Letter`]); the password; the store.
pub fn send<E: From<DeliveryError>>(
    book: &mut Book,
    settings: &MailSettings,
    pace: Pace<'_>,
    clock: &dyn Fn() -> DateTime<Utc>,
    make: &mut Maker<'_, E>,
    watch: &mut dyn FnMut(Event<'_>),
) -> Result<Tally, E> {
    let _sending = book.lock()?;
    let mut tally = Tally {
        left_unknown: book.open_unknown(pace.week)? + book.recover(clock())?,
        ..Tally::default()
    };
    let due = book.prepare(
        (pace.lake, settings.from.domain()),
        pace.week,
        pace.until,
        clock(),
    )?;
    watch(Event::Due(due));
    if due == 0 {
        return Ok(tally);
    }
    let server = MailServer::new(settings)?;
    let per_minute = NonZeroU32::new(settings.per_minute).unwrap_or(NonZeroU32::MIN);
    let mut run = Run {
        book,
        settings,
        week: pace.week,
        name: random_word(),
        clock,
        server: &server,
        link: None,
        troubles: 0,
        refusals: 0,
        refused: Vec::new(),
        limiter: RateLimiter::direct(Quota::per_minute(per_minute).allow_burst(NonZeroU32::MIN)),
        tally: &mut tally,
        watch,
    };
    let leave_at = clock() + pace.stay;
    // A run that ends well has not met refusals enough in a row to be the server's fault.
    let ended = run
        .all(leave_at, make)
        .and_then(|()| run.count_refused().map_err(E::from));
    if let Some(link) = run.link.take() {
        link.quit();
    }
    ended?;
    tally.next_try = book.next_try(pace.week)?;
    Ok(tally)
}

struct Run<'a, 's> {
    book: &'a mut Book,
    settings: &'a MailSettings,
    week: Week,
    name: String,
    clock: &'a dyn Fn() -> DateTime<Utc>,
    server: &'s MailServer<'s>,
    link: Option<Link<'s>>,
    /// Troubles of the connection since the last answer about a letter.
    troubles: usize,
    /// Letters refused for good since the last that was not.
    refusals: u32,
    /// Readers whose address was refused since then, and by which status: not counted yet.
    refused: Vec<(Reader, String)>,
    limiter: governor::DefaultDirectRateLimiter,
    tally: &'a mut Tally,
    watch: &'a mut dyn FnMut(Event<'_>),
}

impl<'s> Run<'_, 's> {
    fn all<E: From<DeliveryError>>(
        &mut self,
        leave_at: DateTime<Utc>,
        make: &mut Maker<'_, E>,
    ) -> Result<(), E> {
        loop {
            let Some(claim) = self.book.claim(self.week, &self.name, (self.clock)())? else {
                match self.book.next_try(self.week)? {
                    Some(at) if at <= leave_at => {
                        // Whole seconds are stored: a nap reaches the next one.
                        std::thread::sleep(NAP);
                        continue;
                    }
                    _ => return Ok(()),
                }
            };
            let made = make(&claim.reader, &claim.message_id).and_then(|letter| {
                let checked = check_letter(&letter, &claim.message_id);
                let address = claim.reader.mailbox.to_string();
                checked.map_err(|why| DeliveryError::Letter { address, why })?;
                Ok(letter)
            });
            let sent = match made {
                Ok(letter) => self.one(&claim, &letter).map_err(E::from),
                Err(error) => Err(error),
            };
            if let Err(error) = sent {
                self.book.release(self.week, &claim, &self.name, (self.clock)())?;
                return Err(error);
            }
        }
    }

    /// One letter, and what became of it.
    fn one(&mut self, claim: &Claim, letter: &[u8]) -> Result<(), DeliveryError> {
        self.wait_for_the_limit();
        let mut link = match self.link.take() {
            Some(link) => link,
            None => self.connected()?,
        };
        let mut kept_from = None;
        let outcome = {
            let Run {
                book,
                week,
                name,
                clock,
                settings,
                ..
            } = self;
            let mark = || match book.mark_sending(*week, &claim.reader, name, clock()) {
                Ok(marked) => marked,
                Err(error) => {
                    kept_from = Some(error);
                    false
                }
            };
            link.hand_over(&settings.bounces_to, &claim.reader.mailbox, letter, mark)
        };
        if let Some(error) = kept_from {
            return Err(error);
        }
        let refused = matches!(
            outcome,
            Outcome::Later(_) | Outcome::Failed(_) | Outcome::AddressRefused(_)
        );
        let fit = refused || matches!(outcome, Outcome::Handed(_));
        self.keep(claim, outcome)?;
        if fit && (!refused || link.reset()) {
            self.link = Some(link);
        }
        Ok(())
    }

    /// Keeps what became of a letter.
    fn keep(&mut self, claim: &Claim, outcome: Outcome) -> Result<(), DeliveryError> {
        let now = (self.clock)();
        match outcome {
            Outcome::Handed(said) => {
                self.is_sound()?;
                self.tally.handed += 1;
                self.record(claim, DeliveryState::Handed, &said)
            }
            Outcome::Failed(said) => self.failed(claim, &said),
            Outcome::AddressRefused(said) => {
                if let Some(status) = address_status(&said).map(str::to_owned) {
                    self.refused.push((claim.reader.clone(), status));
                }
                self.failed(claim, &said)
            }
            Outcome::Later(said) => {
                self.is_sound()?;
                self.tally.put_off += 1;
                let later = now + self.wait_after(claim.attempts);
                self.book
                    .put_off(self.week, claim, &self.name, (later, true, &said), now)?;
                (self.watch)(Event::Sent(&claim.reader, DeliveryState::Due, &said));
                Ok(())
            }
            Outcome::SenderRefused(why) => Err(DeliveryError::Refused {
                server: self.server.name(),
                doing: "naming the sender",
                why,
            }),
            Outcome::NotMarked => {
                // The reader has left, or the row is another run's: there is nothing to keep.
                self.book.release(self.week, claim, &self.name, now)
            }
            Outcome::BrokenBefore(said) => {
                self.book
                    .put_off(self.week, claim, &self.name, (now, false, &said), now)?;
                self.trouble(&said)
            }
            Outcome::Unknown(said) => {
                self.tally.unknown += 1;
                let said = format!("no answer after the final dot: {said}");
                self.record(claim, DeliveryState::Unknown, &said)?;
                self.trouble(&said)
            }
        }
    }

    /// The server takes letters: what it refused before was about the readers.
    fn is_sound(&mut self) -> Result<(), DeliveryError> {
        (self.troubles, self.refusals) = (0, 0);
        self.count_refused()
    }

    /// Counts the addresses that were refused, else a reader whose mailbox is gone would be tried week after week. Only of a server that is sound:
    /// one that refuses every address says nothing about any.
    fn count_refused(&mut self) -> Result<(), DeliveryError> {
        for (reader, status) in std::mem::take(&mut self.refused) {
            if self.book.refused_address(&reader.key, &status)? {
                (self.watch)(Event::Suspended(&reader));
            }
        }
        Ok(())
    }

    /// A letter that was refused for good; after some in a row it is not the readers, and the run ends.
    fn failed(&mut self, claim: &Claim, said: &str) -> Result<(), DeliveryError> {
        self.troubles = 0;
        self.refusals += 1;
        self.tally.failed += 1;
        self.record(claim, DeliveryState::Failed, said)?;
        if self.refusals < REFUSALS_MOST {
            return Ok(());
        }
        Err(DeliveryError::Refused {
            server: self.server.name(),
            doing: "handing letters over",
            why: format!(
                "{} in a row were refused for good, the last with: {said}",
                self.refusals
            ),
        })
    }

    fn record(&mut self, claim: &Claim, state: DeliveryState, said: &str) -> Result<(), DeliveryError> {
        let now = (self.clock)();
        self.book
            .record(self.week, claim, &self.name, (state, Some(said)), now)?;
        (self.watch)(Event::Sent(&claim.reader, state, said));
        Ok(())
    }

    /// The wait after a refusal for a time.
    fn wait_after(&self, attempts: u32) -> Duration {
        let waits = &self.settings.retry_after;
        let at = usize::try_from(attempts)
            .unwrap_or(usize::MAX)
            .min(waits.len().saturating_sub(1));
        waits.get(at).copied().unwrap_or(Duration::ZERO)
    }

    /// Connects, with a few tries.
    fn connected(&mut self) -> Result<Link<'s>, DeliveryError> {
        loop {
            match self.server.connect() {
                Ok(link) => return Ok(link),
                Err(NoLink::Ever(error)) => return Err(error),
                Err(NoLink::Now(said)) => self.trouble(&said)?,
            }
        }
    }

    /// One more trouble: a wait, or the end.
    fn trouble(&mut self, said: &str) -> Result<(), DeliveryError> {
        let Some(wait) = TROUBLE_WAITS.get(self.troubles) else {
            return Err(DeliveryError::Connect {
                server: self.server.name(),
                why: format!("{} troubles in a row, the last: {said}", self.troubles + 1),
            });
        };
        self.troubles += 1;
        (self.watch)(Event::Trouble(said));
        std::thread::sleep(*wait);
        Ok(())
    }

    fn wait_for_the_limit(&self) {
        let clock = DefaultClock::default();
        while let Err(not_until) = self.limiter.check() {
            std::thread::sleep(not_until.wait_time_from(clock.now()));
        }
    }
}
