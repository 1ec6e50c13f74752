//! The letter: the digest, its bodies made once, or a message from a file; each with a header and last lines for its reader.

use std::path::Path;

use super::command::{Run, bytes_of};
use super::make::digest;
use crate::delivery::{
    DecimalMark, DeliveryError, Fault, HourStyle, LetterUnits, MailSettings, Mailbox, Reader, Week, faulty,
};
use crate::error::Error;
use crate::faces::digest::{DigestMessage, DigestSender, ReaderLine};
use crate::faces::mail::{Head, message_date, personal_letter};
use crate::faces::{DecimalSign, HourClock, Notation, Units};
use crate::reports::{IsoWeekOf, Lacking, Trust};

/// The letters of a run.
pub(super) struct Letters<'a> {
    settings: &'a MailSettings,
    source: Source,
}

enum Source {
    /// One message for all, with the date that they bear.
    File { message: Vec<u8>, date: String },
    /// The digest, its bodies made, and what its data lack to be trusted.
    Digest {
        message: Box<DigestMessage>,
        trust: Trust,
    },
}

impl<'a> Letters<'a> {
    /// The letters of a run for a week: of the message in a file, or of the digest of the run's clock.
    ///
    /// # Errors
    /// A file that cannot be read or is no message; as the digest.
    pub(super) fn new(
        run: &Run,
        settings: &'a MailSettings,
        week: Week,
        message: Option<&Path>,
    ) -> Result<Letters<'a>, Error> {
        let source = match message {
            Some(path) => Source::File {
                message: bytes_of(Some(path))?,
                date: date_of(run)?,
            },
            None => of_digest(run, settings, week)?,
        };
        Ok(Letters { settings, source })
    }

    /// What the data lack, where that is too much to send the letter: the same text for the same lack, however old it is. A message from
    /// a file is the user's own.
    pub(super) fn lacking(&self) -> Option<String> {
        match &self.source {
            Source::Digest { trust, .. } if !trust.enough => Some(lack_of(trust)),
            Source::File { .. } | Source::Digest { .. } => None,
        }
    }

    /// The letter of one reader.
    ///
    /// # Errors
    /// A message that is none.
    pub(super) fn make(&self, reader: &Reader, message_id: &str) -> Result<Vec<u8>, Error> {
        let settings = self.settings;
        match &self.source {
            Source::Digest { message, .. } => Ok(message.for_reader(&ReaderLine {
                message_id: Some(message_id.trim_matches(['<', '>']).to_owned()),
                address: reader.mailbox.as_str().to_owned(),
                name: reader.name.clone().unwrap_or_default(),
                units: match reader.units {
                    LetterUnits::Us => Units::Us,
                    LetterUnits::Metric => Units::Metric,
                },
                notation: notation_of(reader.decimal, reader.hours),
                unsubscribe_url: None,
            })?),
            Source::File { message, date } => {
                let head = Head {
                    from: (settings.from_name.as_deref(), settings.from.as_str()),
                    to: (reader.name.as_deref(), reader.mailbox.as_str()),
                    reply_to: settings.reply_to.as_ref().map(|m| m.as_str()),
                    date,
                    message_id,
                    unsubscribe: settings.reply_to.as_ref().unwrap_or(&settings.from).as_str(),
                };
                personal_letter(message, &head).map_err(|why| {
                    let address = reader.mailbox.to_string();
                    DeliveryError::Letter { address, why }.into()
                })
            }
        }
    }
}

/// The topics that are lacking, without their ages.
fn lack_of(trust: &Trust) -> String {
    let topic = |lacking: &Lacking| match lacking {
        Lacking::Level { .. } => "level".to_owned(),
        Lacking::Hypsography => "hypsography".to_owned(),
        Lacking::WaterTemperature => "water temperature".to_owned(),
        Lacking::Wind { .. } => "wind".to_owned(),
        Lacking::Inflow { inflow, .. } => format!("inflow {inflow}"),
        Lacking::OfficialAlerts => "official alerts".to_owned(),
        Lacking::Feeds { series } => {
            let named: Vec<&str> = series.iter().map(|feed| feed.series.as_str()).collect();
            format!("feeds {}", named.join(" "))
        }
    };
    trust.lacking.iter().map(topic).collect::<Vec<_>>().join(", ")
}

/// How numbers and hours are written for one who chose these.
pub(super) fn notation_of(decimal: DecimalMark, hours: HourStyle) -> Notation {
    Notation {
        decimal: match decimal {
            DecimalMark::Point => DecimalSign::Point,
            DecimalMark::Comma => DecimalSign::Comma,
        },
        hours: match hours {
            HourStyle::Hours24 => HourClock::Hours24,
            HourStyle::Hours12 => HourClock::Hours12,
        },
    }
}

/// The digest of the run's clock as the letter of `week`, which a late one is after its end.
fn of_digest(run: &Run, settings: &MailSettings, week: Week) -> Result<Source, Error> {
    let session = &run.session;
    let own = |mailbox: &Mailbox| mailbox.as_str().to_owned();
    let sender = DigestSender {
        name: settings
            .from_name
            .clone()
            .unwrap_or_else(|| session.lake.name.clone()),
        address: own(&settings.from),
        reply_to: settings.reply_to.as_ref().map(own),
        // Where answers go, there a request to leave goes too.
        unsubscribe_address: settings.reply_to.as_ref().map(own),
    };
    // What a week's trips were is the owner's to tell.
    let mut digest = digest(session, settings.share_trips)?;
    digest.week = IsoWeekOf {
        year: week.year(),
        week: week.number(),
    };
    Ok(Source::Digest {
        trust: digest.brief.trust.clone(),
        message: Box::new(DigestMessage::new(&digest, &sender, session.as_of)?),
    })
}

fn date_of(run: &Run) -> Result<String, Error> {
    let session = &run.session;
    message_date(session.as_of, &session.clock).ok_or_else(|| {
        let found = session.as_of.to_string();
        let wanted = "a year from 1900 to 9999, and whole minutes from UTC";
        faulty(
            "the clock",
            vec![Fault::new("--as-of", found, wanted, "set another")],
        )
        .into()
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lake::InflowId;

    #[test]
    fn a_lack_is_the_same_however_old_it_is() {
        let of = |age_h: Option<f64>, name: &str| {
            let inflow = InflowId::new(name);
            lack_of(&Trust {
                enough: false,
                lacking: vec![Lacking::Level { age_h }, Lacking::Inflow { inflow, age_h }],
            })
        };
        assert_eq!(of(None, "sorrel"), "level, inflow sorrel");
        assert_eq!(of(Some(30.0), "sorrel"), of(Some(30.25), "sorrel"));
        assert_ne!(of(None, "sorrel"), of(None, "harrow"));
    }
}
