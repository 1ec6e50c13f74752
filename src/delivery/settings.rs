//! The settings of the mail server and the sender: one TOML file, without any password in it.

use std::path::{Path, PathBuf};
use std::time::Duration;

use chrono::{NaiveTime, Weekday};
use serde::Deserialize;

use super::error::DeliveryError;
use super::fault::{Fault, faulty};
use super::mailbox::{Mailbox, checked_name};
use super::reader::words;
use super::secret::SecretFrom;
use super::week::Schedule;

words! {
    /// How the way to the mail server is kept from being read.
    Security {
        /// TLS after a plain greeting (RFC 3207); a server that does not offer it is refused.
        Starttls = "starttls",
        /// TLS from the first byte (RFC 8314).
        Tls = "tls",
        /// None: to a server on this machine alone.
        None = "none",
    }
}

/// The settings, checked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MailSettings {
    /// Name or address of the mail server.
    pub host: String,
    /// Its port.
    pub port: u16,
    /// How the way there is kept.
    pub security: Security,
    /// Certificates (PEM) to trust beside those of the system.
    pub certificates: Option<PathBuf>,
    /// Name to log in with, and where the password comes from.
    pub login: Option<(String, SecretFrom)>,
    /// How long an answer is waited for.
    pub timeout: Duration,
    /// Who the letters are from.
    pub from: Mailbox,
    /// The sender's name.
    pub from_name: Option<String>,
    /// Where answers go; without it to the sender.
    pub reply_to: Option<Mailbox>,
    /// Where reports of letters that come back go: the sender of the envelope.
    pub bounces_to: Mailbox,
    /// Letters a minute at most.
    pub per_minute: u32,
    /// Seconds from a refusal for a time to the next try: after the first, the second, ...; the last one for all further.
    pub retry_after: Vec<Duration>,
    /// Whether trips and catch of the week are told to the readers.
    pub share_trips: bool,
    /// When the letter of a week is due.
    pub schedule: Option<Schedule>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    server: Server,
    sender: Sender,
    #[serde(default)]
    pace: Pace,
    #[serde(default)]
    content: Content,
    schedule: Option<When>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Server {
    host: String,
    port: Option<u16>,
    security: String,
    certificates: Option<PathBuf>,
    user: Option<String>,
    password_env: Option<String>,
    password_file: Option<PathBuf>,
    password_command: Option<Vec<String>>,
    timeout_s: Option<u32>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Sender {
    from: String,
    name: Option<String>,
    reply_to: Option<String>,
    bounces_to: Option<String>,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct Pace {
    per_minute: Option<u32>,
    retry_after_s: Option<Vec<u32>>,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct Content {
    #[serde(default)]
    share_trips: bool,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct When {
    weekday: String,
    time: String,
    late_h: Option<u32>,
}

/// How long an answer is waited for: five minutes is what RFC 5321, section 4.5.3.2, asks for most commands.
const TIMEOUT_S: u32 = 300;
/// Letters a minute where nothing is said (common practice of small servers, no source).
const PER_MINUTE: u32 = 30;
/// Tries after a refusal for a time: RFC 5321, section 4.5.4.1, asks for at least 30 minutes, sooner for the first two.
const RETRY_AFTER_S: [u32; 5] = [900, 1800, 3600, 7200, 14_400];
/// Hours for which a letter is worth sending late: two days of seven (common practice, no source).
const LATE_H: u32 = 48;

/// Reads a file of settings.
///
/// # Errors
/// [`DeliveryError::NoSettings`], [`DeliveryError::Unreadable`], [`DeliveryError::Faulty`].
pub fn read_settings_file(path: &Path) -> Result<MailSettings, DeliveryError> {
    match std::fs::read_to_string(path) {
        Ok(text) => read_settings(&text, path),
        Err(source) if source.kind() == std::io::ErrorKind::NotFound => Err(DeliveryError::NoSettings {
            path: path.to_owned(),
        }),
        Err(source) => Err(DeliveryError::Unreadable {
            path: path.to_owned(),
            source,
        }),
    }
}

/// Reads the text of settings; relative paths in it start at the folder of `path`.
///
/// # Errors
/// [`DeliveryError::Faulty`] with all faults, or the first where it is no TOML of this form.
pub fn read_settings(text: &str, path: &Path) -> Result<MailSettings, DeliveryError> {
    let origin = path.display().to_string();
    let file: File = toml::from_str(text).map_err(|error| {
        let before = error
            .span()
            .map_or("", |span| text.get(..span.start).unwrap_or(""));
        let line = before.matches('\n').count() + 1;
        // The library's own drawing shows the line itself, which might hold a password that does not belong there.
        let found = error.message().to_owned();
        let wanted = "the tables [server], [sender], [pace], [content], [schedule] with their own keys";
        let fault = Fault::new(format!("line {line}"), found, wanted, "see docs/digest.md");
        faulty(origin.clone(), vec![fault])
    })?;
    let mut faults = Vec::new();
    let settings = checked(file, path.parent().unwrap_or(Path::new("")), &mut faults);
    match settings {
        Some(settings) if faults.is_empty() => Ok(settings),
        _ => Err(faulty(origin, faults)),
    }
}

/// The settings of a file; every fault is told.
fn checked(file: File, folder: &Path, faults: &mut Vec<Fault>) -> Option<MailSettings> {
    let File {
        server,
        sender,
        pace,
        content,
        schedule,
    } = file;
    let security = Security::from_word(&server.security);
    if security.is_none() {
        let wanted = format!("one of {}", Security::WORDS.join(", "));
        faults.push(fault("security", format!("{:?}", server.security), &wanted));
    }
    let local = matches!(server.host.as_str(), "localhost" | "127.0.0.1" | "::1");
    if security == Some(Security::None) && !local {
        let wanted = "starttls or tls, for a server that is not on this machine";
        faults.push(fault("security", "none", wanted));
    }
    if server.host.is_empty()
        || server
            .host
            .contains(|c: char| c.is_whitespace() || c.is_control())
    {
        faults.push(fault(
            "host",
            format!("{:?}", server.host),
            "the name of the mail server",
        ));
    }
    let login = login(&server, folder, faults);
    let mut mailbox = |key: &str, text: &str| Mailbox::read(text).map_err(|f| faults.push(f.at(key))).ok();
    let from = mailbox("from", &sender.from);
    let reply_to = sender.reply_to.as_deref().map(|text| mailbox("reply_to", text));
    let bounces_to = match &sender.bounces_to {
        Some(text) => mailbox("bounces_to", text),
        None => from.clone(),
    };
    let from_name = checked_name(sender.name.as_deref().unwrap_or(""))
        .map_err(|f| faults.push(f.at("name")))
        .ok()
        .flatten();
    let per_minute = pace.per_minute.unwrap_or(PER_MINUTE);
    if per_minute == 0 {
        faults.push(fault("per_minute", "0", "at least 1"));
    }
    let retry_after_s = pace.retry_after_s.unwrap_or_else(|| RETRY_AFTER_S.to_vec());
    if retry_after_s.is_empty() {
        faults.push(fault("retry_after_s", "an empty list", "at least one time"));
    }
    let schedule = schedule.and_then(|when| {
        let weekday: Option<Weekday> = when.weekday.parse().ok();
        let time = NaiveTime::parse_from_str(&when.time, "%H:%M").ok();
        if weekday.is_none() {
            faults.push(fault(
                "weekday",
                format!("{:?}", when.weekday),
                "a day such as thursday",
            ));
        }
        if time.is_none() {
            faults.push(fault("time", format!("{:?}", when.time), "a time such as 18:00"));
        }
        Some(Schedule {
            weekday: weekday?,
            time: time?,
            late_h: when.late_h.unwrap_or(LATE_H),
        })
    });
    let security = security?;
    Some(MailSettings {
        port: server.port.unwrap_or(match security {
            Security::Starttls => 587,
            Security::Tls => 465,
            Security::None => 25,
        }),
        host: server.host,
        security,
        certificates: server.certificates.map(|path| folder.join(path)),
        login,
        timeout: seconds(server.timeout_s.unwrap_or(TIMEOUT_S)),
        from: from?,
        from_name,
        reply_to: reply_to.flatten(),
        bounces_to: bounces_to?,
        per_minute,
        retry_after: retry_after_s.into_iter().map(seconds).collect(),
        share_trips: content.share_trips,
        schedule,
    })
}

/// Who logs in, and where the password comes from: both or neither.
fn login(server: &Server, folder: &Path, faults: &mut Vec<Fault>) -> Option<(String, SecretFrom)> {
    let places = [
        server.password_env.clone().map(SecretFrom::Environment),
        server
            .password_file
            .as_ref()
            .map(|path| SecretFrom::File(folder.join(path))),
        server.password_command.clone().map(SecretFrom::Command),
    ];
    let places: Vec<SecretFrom> = places.into_iter().flatten().collect();
    let wanted = "user with one of password_env, password_file, password_command, or none of the four";
    match (&server.user, &places[..]) {
        (None, []) => None,
        (Some(user), [place]) if !user.is_empty() && !user.contains(|c: char| c.is_control()) => {
            Some((user.clone(), place.clone()))
        }
        (user, places) => {
            let user = if user.is_some() { "a user" } else { "no user" };
            let found = format!("{user} and {} places of a password", places.len());
            faults.push(fault("user", found, wanted));
            None
        }
    }
}

fn fault(key: &str, found: impl Into<String>, wanted: &str) -> Fault {
    Fault::new(key, found, wanted, "see docs/digest.md")
}

fn seconds(count: u32) -> Duration {
    Duration::from_secs(u64::from(count))
}

#[cfg(test)]
mod tests {
    use super::*;

    const SOUND: &str = "[server]\nhost = \"mail.example.org\"\nsecurity = \"starttls\"\nuser = \"u\"\npassword_env = \"P\"\n\
                         [sender]\nfrom = \"digest@example.org\"\n[schedule]\nweekday = \"thursday\"\ntime = \"18:00\"\n";

    fn faults(text: &str) -> String {
        read_settings(text, Path::new("conf/mail.toml"))
            .expect_err(text)
            .to_string()
    }

    #[test]
    fn what_is_not_said_is_that_of_the_standards() {
        let read = read_settings(SOUND, Path::new("conf/mail.toml")).expect("sound");
        assert_eq!(read.port, 587); // RFC 6409: submission
        let tls = read_settings(&SOUND.replace("starttls", "tls"), Path::new("m")).expect("sound");
        assert_eq!(tls.port, 465); // RFC 8314: submissions
        assert_eq!(read.timeout, Duration::from_secs(300)); // RFC 5321, 4.5.3.2
        assert_eq!(read.bounces_to, read.from);
        let file = SOUND.replace("password_env = \"P\"", "password_file = \"pw\"");
        let login = read_settings(&file, Path::new("conf/mail.toml"))
            .expect("sound")
            .login;
        assert_eq!(login, Some(("u".to_owned(), SecretFrom::File("conf/pw".into()))));
    }

    #[test]
    fn trips_are_shared_only_where_the_settings_say_so() {
        let shares = |more: &str| {
            let text = format!("{SOUND}{more}");
            read_settings(&text, Path::new("m")).expect("sound").share_trips
        };
        assert!(!shares("") && !shares("[content]\n") && !shares("[content]\nshare_trips = false\n"));
        assert!(shares("[content]\nshare_trips = true\n"));
        assert!(faults(&format!("{SOUND}[content]\nshare_trip = true\n")).contains("unknown field"));
    }

    #[test]
    fn every_fault_is_told_at_once_with_its_key() {
        let said = faults(
            &SOUND
                .replace("starttls", "none")
                .replace("digest@example.org", "a b@c")
                .replace("password_env = \"P\"\n", "")
                .replace("thursday", "someday")
                .replace("18:00", "6 pm"),
        );
        for key in ["security:", "from:", "user:", "weekday:", "time:"] {
            assert!(said.contains(key), "{key} {said}");
        }
    }

    #[test]
    fn a_password_in_the_settings_is_refused_and_not_shown() {
        let said = faults(&SOUND.replace("password_env = \"P\"", "password = \"fourteen herons\""));
        assert!(said.contains("line 5: found unknown field `password`"), "{said}");
        assert!(!said.contains("heron"), "{said}");
    }
}
