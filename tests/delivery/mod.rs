//! Letters to readers: the real program against mail servers on this machine, ones that work and ones that play faults.

mod bounces;
mod digest_letters;
mod faults;
mod kill;
mod ledger;
mod loopback;
mod readers;
mod secrets;
mod server;
mod timers;
mod timing;

use std::path::PathBuf;
use std::process::Command;

use chrono::{Duration, Utc};
use plungeline::delivery::{
    Book, DecimalMark, Delivery, DeliveryState, HourStyle, LetterUnits, Mailbox, NewReader,
};

use crate::pull::{program, small_lake};

const ID: &str = "small-water";
/// A letter as a file: what is a reader's own is put in by the program.
const MESSAGE: &str = "Subject: Small Water, week 48\r\nMIME-Version: 1.0\r\nContent-Type: text/plain; charset=utf-8\r\n\
                       Content-Transfer-Encoding: quoted-printable\r\n\r\nLevel 780 ft, surface 49 =C2=B0F.\r\n.\r\n..two dots\r\n\
                       From the lake\r\n";

/// A lake, its store, the settings of a mail server, a letter.
pub struct Scene {
    pub home: tempfile::TempDir,
    lake: PathBuf,
    pub store: PathBuf,
}

impl Scene {
    /// With so many confirmed readers `r000@example.org`, ...
    pub fn new(readers: usize) -> Scene {
        let home = tempfile::tempdir().expect("a temporary folder");
        let scene = Scene {
            lake: home.path().join("small.toml"),
            store: home.path().join("store"),
            home,
        };
        std::fs::write(&scene.lake, small_lake(ID)).expect("writable");
        std::fs::write(scene.home.path().join("letter.eml"), MESSAGE).expect("writable");
        let new: Vec<NewReader> = (0..readers).map(|i| confirmed(&address(i))).collect();
        let at = Utc::now() - Duration::hours(1);
        scene.book().import(&new, at).expect("added");
        scene
    }

    pub fn book(&self) -> Book {
        Book::open(&self.store.join(ID)).expect("the list opens")
    }

    /// Settings for a server at a port of this machine; `server` and `rest` are further lines.
    pub fn settings(&self, port: u16, server: &str, rest: &str) {
        let security = if server.contains("security") {
            ""
        } else {
            "security = \"none\"\n"
        };
        let text = format!(
            "[server]\nhost = \"localhost\"\nport = {port}\ntimeout_s = 20\n{security}{server}\n\
             [sender]\nfrom = \"digest@example.org\"\nname = \"Small Water\"\n{rest}\n"
        );
        let pace = if rest.contains("[pace]") {
            ""
        } else {
            "[pace]\nper_minute = 60000\n"
        };
        std::fs::write(self.home.path().join("mail.toml"), text + pace).expect("writable");
    }

    /// Folder of the demonstration's store at its default morning, which the program names by its clock.
    pub fn demo_folder(&self) -> PathBuf {
        self.store.join("20251009T113000Z").join("harrow-gap")
    }

    /// `digest` with these arguments, at the demonstration lake.
    pub fn demo(&self, arguments: &[&str]) -> Command {
        let mut command = program(self.home.path());
        command.arg("digest").args(arguments).arg("--demo");
        command.arg("--store").arg(&self.store);
        command
    }

    /// The demonstration's store with what the services answer and so many readers in all eight ways to write a letter, every fifth with
    /// a name. `digest send` fetches nothing.
    pub fn demo_readers(&self, readers: usize) {
        let (status, _, told) = Scene::ran(self.demo(&["preview", "--format", "json"]));
        assert_eq!(status, 0, "{told}");
        let new: Vec<NewReader> = (0..readers).map(in_own_way).collect();
        let mut book = Book::open(&self.demo_folder()).expect("the list opens");
        let at = "2025-10-08T12:00:00Z".parse().expect("an instant");
        book.import(&new, at).expect("added");
    }

    /// `digest` with these arguments, at this lake.
    pub fn digest(&self, arguments: &[&str]) -> Command {
        let mut command = program(self.home.path());
        command.arg("digest").args(arguments);
        command
            .arg("--lake")
            .arg(&self.lake)
            .arg("--store")
            .arg(&self.store);
        command
    }

    /// `digest send` of the letter in the file.
    pub fn sending(&self, arguments: &[&str]) -> Command {
        let mut command = self.digest(&["send"]);
        command.arg("--settings").arg(self.home.path().join("mail.toml"));
        command.arg("--message").arg(self.home.path().join("letter.eml"));
        command.args(arguments);
        command
    }

    /// Runs; status, standard output and error.
    pub fn ran(mut command: Command) -> (i32, String, String) {
        let output = command.output().expect("the program starts");
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("UTF-8");
        let status = output.status.code().expect("a status");
        (status, text(output.stdout), text(output.stderr))
    }

    pub fn rows(&self) -> Vec<Delivery> {
        self.book().deliveries(None).expect("a ledger")
    }

    /// How many rows of the ledger are in a state.
    pub fn count(&self, state: DeliveryState) -> usize {
        self.rows().iter().filter(|row| row.state == state).count()
    }
}

pub fn address(i: usize) -> String {
    format!("r{i:03}@example.org")
}

pub fn mailbox(address: &str) -> Mailbox {
    Mailbox::read(address).expect("an address")
}

/// The reader of a number: units, mark and clock by its last three bits.
pub fn in_own_way(i: usize) -> NewReader {
    NewReader {
        name: i.is_multiple_of(5).then(|| format!("Zoë \"Z\" Doe, {i}")),
        units: [LetterUnits::Us, LetterUnits::Metric][i & 1],
        decimal: [DecimalMark::Point, DecimalMark::Comma][i >> 1 & 1],
        hours: [HourStyle::Hours24, HourStyle::Hours12][i >> 2 & 1],
        ..confirmed(&address(i))
    }
}

pub fn confirmed(address: &str) -> NewReader {
    let day = chrono::NaiveDate::from_ymd_opt(2025, 10, 1).expect("a day");
    NewReader {
        mailbox: mailbox(address),
        name: None,
        units: LetterUnits::Us,
        decimal: DecimalMark::Point,
        hours: HourStyle::Hours24,
        consent: Some((day, "invented".to_owned())),
    }
}
