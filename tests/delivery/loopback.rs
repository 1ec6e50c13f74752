//! Against a mail server of other people (PyPI's aiosmtpd) on this machine, with what arrived read by Python's own `email`.
//!
//! `PLUNGELINE_SMTP_PYTHON` names a Python that has aiosmtpd (`tests/delivery/requirements.txt`); without one these tests say that
//! they skip. With `PLUNGELINE_SMTP_REQUIRED` set, a skip is a failure.

use std::collections::BTreeSet;
use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

use plungeline::delivery::{DeliveryState as State, NewReader};
use serde_json::Value;

use super::{Scene, confirmed};
use crate::house::source::root;

const SCRIPT: &str = "tests/delivery/mail_server.py";

/// A Python with these modules, or `None` after saying that the test skips.
pub fn python(modules: &str) -> Option<PathBuf> {
    let named = std::env::var_os("PLUNGELINE_SMTP_PYTHON");
    let python = PathBuf::from(named.unwrap_or_else(|| "python3".into()));
    let has_it = Command::new(&python)
        .args(["-c", &format!("import {modules}")])
        .stderr(Stdio::null())
        .status();
    if has_it.is_ok_and(|status| status.success()) {
        return Some(python);
    }
    assert!(
        std::env::var_os("PLUNGELINE_SMTP_REQUIRED").is_none(),
        "{} has no {modules}, and a skip was declared a failure",
        python.display()
    );
    println!(
        "skipped: {} has no {modules} (requirements.txt in tests/delivery and tests/outside/mail)",
        python.display()
    );
    None
}

/// The server at work; it ends with the test.
pub struct Foreign {
    child: Child,
    python: PathBuf,
    pub folder: tempfile::TempDir,
    pub port: u16,
}

impl Foreign {
    pub fn start(python: &Path, more: &[&str]) -> Foreign {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let mut child = Command::new(python)
            .arg(root().join(SCRIPT))
            .arg("serve")
            .arg(folder.path())
            .args(more)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("the server starts");
        let mut line = String::new();
        let stdout = child.stdout.take().expect("a pipe");
        BufReader::new(stdout).read_line(&mut line).expect("a line");
        let port = line.trim().parse().expect("the port");
        Foreign {
            child,
            python: python.to_owned(),
            folder,
            port,
        }
    }

    /// What arrived, as Python's `email` reads it.
    pub fn letters(&self) -> Vec<Value> {
        let output = Command::new(&self.python)
            .arg(root().join(SCRIPT))
            .arg("read")
            .arg(self.folder.path())
            .output()
            .expect("it starts");
        assert!(
            output.status.success(),
            "{}",
            String::from_utf8_lossy(&output.stderr)
        );
        serde_json::from_slice(&output.stdout).expect("JSON")
    }
}

impl Drop for Foreign {
    fn drop(&mut self) {
        // It ends with its standard input; should it not, it is ended.
        drop(self.child.stdin.take());
        std::thread::sleep(std::time::Duration::from_millis(300));
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Certificate and key for `localhost`, in files.
fn identity(folder: &Path) -> [String; 2] {
    let own = rcgen::generate_simple_self_signed(vec!["localhost".to_owned()]).expect("a certificate");
    let pair = [
        ("own.pem", own.cert.pem()),
        ("key.pem", own.signing_key.serialize_pem()),
    ];
    pair.map(|(name, text)| {
        let path = folder.join(name);
        std::fs::write(&path, text).expect("writable");
        path.to_string_lossy().into_owned()
    })
}

#[test]
fn two_hundred_readers_get_one_letter_each_that_another_program_reads() {
    let Some(python) = python("aiosmtpd") else { return };
    let scene = Scene::new(199);
    let named = NewReader {
        name: Some("Ann \"A\" Byström".to_owned()),
        ..confirmed("ann.b+lake@example.org")
    };
    scene
        .book()
        .import(&[named], chrono::Utc::now() - chrono::Duration::hours(1))
        .expect("added");
    let server = Foreign::start(&python, &[]);
    scene.settings(server.port, "", "");
    let (status, _, told) = Scene::ran(scene.sending(&[]));
    assert_eq!(status, 0, "{told}");
    assert!(told.contains("200 handed over"), "{told}");
    // A second run finds nothing to do.
    assert_eq!(Scene::ran(scene.sending(&[])).0, 0);
    let letters = server.letters();
    assert_eq!(letters.len(), 200);
    let mut identifiers = BTreeSet::new();
    let mut readers = BTreeSet::new();
    for letter in &letters {
        assert_eq!(letter["defects"], serde_json::json!([]), "{letter}");
        assert_eq!(letter["bare_line_ends"], 0);
        assert!(
            letter["longest_line"].as_u64().is_some_and(|n| n <= 78),
            "{letter}"
        );
        assert_eq!(letter["envelope"]["from"], "digest@example.org");
        assert_eq!(letter["envelope"]["to"], serde_json::json!([letter["to"][0][1]]));
        assert_eq!(
            letter["from"],
            serde_json::json!([["Small Water", "digest@example.org"]])
        );
        // Lines that begin with a dot, or look like the end of a mail, arrive as they were.
        assert_eq!(
            letter["text"],
            "Level 780 ft, surface 49 \u{b0}F.\n.\n..two dots\nFrom the lake\n"
        );
        let headers = &letter["headers"];
        assert_eq!(headers["subject"], "Small Water, week 48");
        assert_eq!(
            headers["list-unsubscribe"],
            "<mailto:digest@example.org?subject=unsubscribe>"
        );
        identifiers.insert(headers["message-id"].as_str().expect("an identifier").to_owned());
        readers.insert(letter["to"][0][1].as_str().expect("an address").to_owned());
    }
    assert_eq!((identifiers.len(), readers.len()), (200, 200));
    let ann = letters
        .iter()
        .find(|l| l["to"][0][1] == "ann.b+lake@example.org")
        .expect("her letter");
    assert_eq!(ann["to"][0][0], "Ann \"A\" Byström");
    assert_eq!(scene.count(State::Handed), 200);
    let rows = scene.rows();
    assert!(
        rows.iter()
            .all(|row| row.reply.as_deref() == Some("250 2.0.0 kept")),
        "{:?}",
        rows[0]
    );
}

#[test]
fn starttls_and_tls_with_a_certificate_of_ones_own_and_a_login() {
    let Some(python) = python("aiosmtpd") else { return };
    for (kind, word) in [("--starttls", "starttls"), ("--tls", "tls")] {
        let scene = Scene::new(3);
        let [certificate, key] = identity(scene.home.path());
        let server = Foreign::start(
            &python,
            &[kind, &certificate, &key, "--login", "lake", "fourteen herons"],
        );
        let settings = |own: &str| {
            let login = "user = \"lake\"\npassword_env = \"LAKE_PASSWORD\"";
            scene.settings(server.port, &format!("security = \"{word}\"\n{login}\n{own}"), "");
        };
        let send = |password: &str| {
            let mut command = scene.sending(&[]);
            command.env("LAKE_PASSWORD", password);
            Scene::ran(command)
        };
        // Nobody vouches for the certificate.
        settings("");
        let (status, _, told) = send("fourteen herons");
        assert!(status == 1 && told.contains("setting up TLS"), "{word}: {told}");
        settings("certificates = \"own.pem\"");
        let (status, _, told) = send("thirteen herons");
        assert!(
            status == 1 && told.contains("logging in") && !told.contains("herons"),
            "{word}: {told}"
        );
        assert_eq!(
            (server.letters().len(), scene.count(State::Due)),
            (0, 3),
            "{word}"
        );
        let (status, _, told) = send("fourteen herons");
        assert_eq!(status, 0, "{word}: {told}");
        let letters = server.letters();
        assert_eq!(letters.len(), 3, "{word}");
        assert!(
            kind == "--tls" || letters.iter().all(|l| l["envelope"]["tls"] == true),
            "{letters:?}"
        );
    }
}
