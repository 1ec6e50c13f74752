//! The dialogue with the mail server: one connection, letter after letter (crate `lettre`).

use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};

use lettre::transport::smtp::authentication::{Credentials, Mechanism};
use lettre::transport::smtp::client::{Certificate, SmtpConnection, TlsParameters};
use lettre::transport::smtp::commands::{Data, Mail, Rcpt, Rset};
use lettre::transport::smtp::extension::ClientId;
use lettre::transport::smtp::{Error, response::Response};

use super::error::DeliveryError;
use super::mailbox::Mailbox;
use super::reply::{one_line, shortened, without_address};
use super::secret::Secret;
use super::settings::{MailSettings, Security};

/// The mail server, not connected yet.
pub(super) struct MailServer<'a> {
    settings: &'a MailSettings,
    secret: Option<Secret>,
    tls: Option<TlsParameters>,
    hello: ClientId,
}

/// A connection, logged in.
pub(super) struct Link<'a> {
    connection: SmtpConnection,
    server: &'a MailServer<'a>,
}

/// Why there is no connection.
pub(super) enum NoLink {
    /// It may be otherwise in a moment.
    Now(String),
    /// It will not be otherwise until something is mended.
    Ever(DeliveryError),
}

/// What became of a letter.
#[derive(Debug)]
pub(super) enum Outcome {
    /// Taken over, with the server's words.
    Handed(String),
    /// Refused for a time.
    Later(String),
    /// Refused for good, for this reader.
    Failed(String),
    /// The reader's address was refused for good, before the letter.
    AddressRefused(String),
    /// Refused because of the sender: no letter will go.
    SenderRefused(String),
    /// The connection ended before the final dot was let go: nothing will be delivered.
    BrokenBefore(String),
    /// The connection ended after it: nobody knows.
    Unknown(String),
    /// The mark before the final dot was not made, so the dot was not let go.
    NotMarked,
}

impl<'a> MailServer<'a> {
    /// A mail server by its settings; gets the password.
    ///
    /// # Errors
    /// As [`super::secret::SecretFrom::get`]; certificates that cannot be read.
    pub(super) fn new(settings: &'a MailSettings) -> Result<MailServer<'a>, DeliveryError> {
        let secret = match &settings.login {
            Some((_, from)) => Some(from.get()?),
            None => None,
        };
        let tls = match settings.security {
            Security::None => None,
            Security::Starttls | Security::Tls => Some(tls_parameters(settings)?),
        };
        Ok(MailServer {
            settings,
            secret,
            tls,
            hello: ClientId::Domain(settings.from.domain().to_owned()),
        })
    }

    /// Host and port.
    pub(super) fn name(&self) -> String {
        format!("{}:{}", self.settings.host, self.settings.port)
    }

    /// Connects, secures the way, logs in.
    pub(super) fn connect(&'a self) -> Result<Link<'a>, NoLink> {
        let of = self.settings;
        let wrapped = self.tls.as_ref().filter(|_| of.security == Security::Tls);
        let connection = SmtpConnection::connect(
            (of.host.as_str(), of.port),
            Some(of.timeout),
            &self.hello,
            wrapped,
            None,
        );
        let mut connection = connection.map_err(|e| self.no_link("connecting", &e))?;
        if let Some(tls) = self.tls.as_ref().filter(|_| of.security == Security::Starttls) {
            if !connection.can_starttls() {
                return Err(self.never("asking for STARTTLS", "it does not offer it".to_owned()));
            }
            connection
                .starttls(tls, &self.hello)
                .map_err(|e| self.no_link("setting up TLS", &e))?;
        }
        if let (Some((user, _)), Some(secret)) = (&of.login, &self.secret) {
            let credentials = Credentials::new(user.clone(), secret.reveal().to_owned());
            let logged_in = connection.auth(&[Mechanism::Plain, Mechanism::Login], &credentials);
            if let Err(error) = logged_in {
                // Some servers repeat what was sent to them: of this answer only the code is told.
                return Err(match error.status() {
                    Some(code) if error.is_permanent() => {
                        self.never("logging in", format!("it refuses user and password with {code}"))
                    }
                    Some(code) => NoLink::Now(format!("it puts the login off with {code}")),
                    None if error.is_client() => {
                        self.never("logging in", "it takes neither PLAIN nor LOGIN".to_owned())
                    }
                    None => NoLink::Now("it breaks off during the login".to_owned()),
                });
            }
        }
        Ok(Link {
            connection,
            server: self,
        })
    }

    fn never(&self, doing: &'static str, why: String) -> NoLink {
        NoLink::Ever(DeliveryError::Refused {
            server: self.name(),
            doing,
            why,
        })
    }

    /// An error while connecting: of a certificate, or a refusal for good, no second try helps.
    fn no_link(&self, doing: &'static str, error: &Error) -> NoLink {
        let said = self.hidden(&error.to_string(), None);
        if error.is_tls() || is_tls_inside(error) {
            self.never("setting up TLS", said)
        } else if error.is_permanent() {
            self.never(doing, said)
        } else {
            NoLink::Now(said)
        }
    }

    /// What a server said, on one line, without the password and the address of the reader it is about, and then shortened: cut before,
    /// a part of either might be left.
    fn hidden(&self, text: &str, reader: Option<&Mailbox>) -> String {
        let line = one_line(text);
        let line = match (&self.secret, &self.settings.login) {
            (Some(secret), Some((user, _))) => secret.hidden_in(user, &line),
            _ => line,
        };
        shortened(&match reader {
            Some(reader) => without_address(&line, reader),
            None => line,
        })
    }
}

/// TLS is set up with the first bytes that are read or written, so its errors come as those of the stream.
fn is_tls_inside(error: &Error) -> bool {
    let mut source = std::error::Error::source(error);
    while let Some(inner) = source {
        let stream = inner.downcast_ref::<std::io::Error>();
        if stream.is_some_and(|e| e.kind() == std::io::ErrorKind::InvalidData) {
            return true;
        }
        source = inner.source();
    }
    false
}

fn tls_parameters(settings: &MailSettings) -> Result<TlsParameters, DeliveryError> {
    let refused = |error: Error| DeliveryError::Refused {
        server: settings.host.clone(),
        doing: "setting up TLS",
        why: error.to_string(),
    };
    let mut builder = TlsParameters::builder(settings.host.clone());
    if let Some(path) = &settings.certificates {
        let pem = std::fs::read(path).map_err(|source| DeliveryError::Unreadable {
            path: path.clone(),
            source,
        })?;
        builder = builder.add_root_certificate(Certificate::from_pem(&pem).map_err(refused)?);
    }
    builder.build_rustls().map_err(refused)
}

/// Stops a message before its final dot.
struct NotMarked;

impl Link<'_> {
    /// Hands a letter over. `mark` is called after the whole message and directly before its final dot; where it gives `false`, the
    /// dot is not let go and the connection is dropped: a server delivers nothing of a message without it (RFC 5321, section 4.1.1.4).
    ///
    /// After anything but [`Outcome::Handed`], [`Outcome::Later`], [`Outcome::Failed`] and [`Outcome::AddressRefused`] the connection is
    /// of no more use; after the latter three [`Link::reset`] says whether it is.
    pub(super) fn hand_over(
        &mut self,
        from: &Mailbox,
        to: &Mailbox,
        letter: &[u8],
        mark: impl FnOnce() -> bool,
    ) -> Outcome {
        if let Err(error) = self.connection.command(Mail::new(Some(from.address()), vec![])) {
            return match self.before_the_dot(&error, to) {
                Outcome::Failed(said) => Outcome::SenderRefused(said),
                other => other,
            };
        }
        let recipient = Rcpt::new(to.address(), vec![]);
        if let Err(error) = self.connection.command(recipient) {
            return match self.before_the_dot(&error, to) {
                Outcome::Failed(said) => Outcome::AddressRefused(said),
                other => other,
            };
        }
        if let Err(error) = self.connection.command(Data) {
            return self.before_the_dot(&error, to);
        }
        let mut marked = false;
        match self.message(letter, mark, &mut marked) {
            Ok(Ok(response)) => Outcome::Handed(self.said(&response, to)),
            Ok(Err(error)) if !marked => self.before_the_dot(&error, to),
            Ok(Err(error)) => {
                let said = self.server.hidden(&error.to_string(), Some(to));
                match error.status() {
                    Some(code) if u16::from(code) == 421 => Outcome::BrokenBefore(said),
                    Some(_) if error.is_permanent() => Outcome::Failed(said),
                    Some(_) => Outcome::Later(said),
                    None => Outcome::Unknown(said),
                }
            }
            Err(NotMarked) => Outcome::NotMarked,
        }
    }

    /// Sends the message and its final dot.
    ///
    /// `lettre` asks for the parts of a message one by one and sends the dot when there are no more, so the mark is made where it
    /// asks for the part behind the last. An iterator can refuse the dot in no other way than by unwinding; no hook hears of it.
    fn message(
        &mut self,
        letter: &[u8],
        mark: impl FnOnce() -> bool,
        marked: &mut bool,
    ) -> Result<Result<Response, Error>, NotMarked> {
        // The dot brings its own line end.
        let letter = letter.strip_suffix(b"\r\n").unwrap_or(letter);
        let mut mark = Some(mark);
        let mut parts = Some(letter).into_iter();
        let with_mark = std::iter::from_fn(|| {
            let part = parts.next();
            if part.is_none()
                && let Some(mark) = mark.take()
            {
                if !mark() {
                    resume_unwind(Box::new(NotMarked));
                }
                *marked = true;
            }
            part
        });
        let connection = &mut self.connection;
        match catch_unwind(AssertUnwindSafe(|| connection.message_iter(with_mark))) {
            Ok(sent) => Ok(sent),
            Err(stopped) if stopped.is::<NotMarked>() => Err(NotMarked),
            Err(other) => resume_unwind(other),
        }
    }

    fn before_the_dot(&self, error: &Error, to: &Mailbox) -> Outcome {
        let said = self.server.hidden(&error.to_string(), Some(to));
        match error.status() {
            Some(code) if u16::from(code) == 421 => Outcome::BrokenBefore(said),
            Some(_) if error.is_permanent() => Outcome::Failed(said),
            Some(_) => Outcome::Later(said),
            None => Outcome::BrokenBefore(said),
        }
    }

    fn said(&self, response: &Response, to: &Mailbox) -> String {
        let text: Vec<&str> = response.message().collect();
        let said = format!("{} {}", response.code(), text.join(" "));
        self.server.hidden(&said, Some(to))
    }

    /// Clears what a refusal left behind; `false` where the connection is of no more use.
    pub(super) fn reset(&mut self) -> bool {
        self.connection.command(Rset).is_ok()
    }

    /// Takes leave.
    pub(super) fn quit(mut self) {
        // The letters are handed over: whether the server says goodbye changes nothing.
        let _ = self.connection.quit();
    }
}
