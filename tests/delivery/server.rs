//! A mail server on loopback (RFC 5321) that plays faults at the step it is told to.

use std::collections::BTreeMap;
use std::io::{Read, Write};
use std::net::{TcpListener, TcpStream};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

/// Steps of the dialogue.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    Greeting,
    Auth,
    Mail,
    Rcpt,
    Data,
    Dot,
}

/// What the server does at a step.
pub enum Does {
    /// What a sound server does.
    Well,
    /// The same after a while.
    Slowly(Duration),
    /// Gives this answer.
    Says(&'static str),
    /// Gives this answer and closes the connection.
    SaysAndCloses(&'static str),
    /// Closes without an answer.
    Closes,
    /// At the final dot: keeps the letter, and closes without an answer.
    KeepsAndCloses,
}

/// Step, recipient (if told yet), and how often this step was there before.
pub type Play = dyn Fn(Step, &str, usize) -> Does + Send + Sync;

#[derive(Default)]
struct Seen {
    letters: Mutex<Vec<(String, Vec<u8>)>>,
    steps: Mutex<BTreeMap<String, usize>>,
    open: AtomicUsize,
}

/// A server at work until the test ends.
pub struct Server {
    pub port: u16,
    seen: Arc<Seen>,
}

/// A certificate of its own and its key, in PEM.
pub struct Identity {
    pub certificate: String,
    config: Arc<rustls::ServerConfig>,
}

impl Identity {
    pub fn of(name: &str) -> Identity {
        let own = rcgen::generate_simple_self_signed(vec![name.to_owned()]).expect("a certificate");
        let key = rustls::pki_types::PrivateKeyDer::try_from(own.signing_key.serialize_der()).expect("a key");
        let _already = rustls::crypto::ring::default_provider().install_default();
        let config = rustls::ServerConfig::builder()
            .with_no_client_auth()
            .with_single_cert(vec![own.cert.der().clone()], key)
            .expect("a sound pair");
        Identity {
            certificate: own.cert.pem(),
            config: Arc::new(config),
        }
    }
}

impl Server {
    /// A server that does all well.
    pub fn sound() -> Server {
        Server::playing(None, |_, _, _| Does::Well)
    }

    /// A server that plays; with an identity it offers STARTTLS.
    pub fn playing(
        identity: Option<&Identity>,
        play: impl Fn(Step, &str, usize) -> Does + Send + Sync + 'static,
    ) -> Server {
        let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
        let port = listener.local_addr().expect("an address").port();
        let seen = Arc::new(Seen::default());
        let play: Arc<Play> = Arc::new(play);
        let tls = identity.map(|i| i.config.clone());
        let all = seen.clone();
        std::thread::spawn(move || {
            for stream in listener.incoming().flatten() {
                let (seen, play, tls) = (all.clone(), play.clone(), tls.clone());
                seen.open.fetch_add(1, Ordering::SeqCst);
                std::thread::spawn(move || {
                    let _ = stream.set_nodelay(true);
                    let mut talk = Talk {
                        wire: Wire::Plain(stream),
                        buffer: Vec::new(),
                        seen: &seen,
                        play: &*play,
                        to: String::new(),
                    };
                    talk.all(tls);
                    drop(talk);
                    seen.open.fetch_sub(1, Ordering::SeqCst);
                });
            }
        });
        Server { port, seen }
    }

    /// Letters that were kept: recipient and bytes, when no connection is open any more.
    pub fn letters(&self) -> Vec<(String, Vec<u8>)> {
        let began = Instant::now();
        while self.seen.open.load(Ordering::SeqCst) > 0 {
            assert!(
                began.elapsed() < Duration::from_secs(30),
                "a connection stays open"
            );
            std::thread::sleep(Duration::from_millis(2));
        }
        self.seen.letters.lock().expect("whole").clone()
    }

    /// Letters by recipient.
    pub fn counts(&self) -> BTreeMap<String, usize> {
        let mut counts = BTreeMap::new();
        for (to, _) in self.letters() {
            *counts.entry(to).or_insert(0) += 1;
        }
        counts
    }
}

enum Wire {
    Plain(TcpStream),
    Tls(Box<rustls::StreamOwned<rustls::ServerConnection, TcpStream>>),
    Gone,
}

impl Wire {
    fn read(&mut self, into: &mut [u8]) -> usize {
        let read = match self {
            Wire::Plain(stream) => stream.read(into),
            Wire::Tls(stream) => stream.read(into),
            Wire::Gone => Ok(0),
        };
        read.unwrap_or(0)
    }

    fn write(&mut self, text: &str) -> bool {
        let bytes = text.as_bytes();
        match self {
            Wire::Plain(stream) => stream.write_all(bytes).is_ok(),
            Wire::Tls(stream) => stream.write_all(bytes).and_then(|()| stream.flush()).is_ok(),
            Wire::Gone => false,
        }
    }
}

struct Talk<'a> {
    wire: Wire,
    buffer: Vec<u8>,
    seen: &'a Seen,
    play: &'a Play,
    to: String,
}

impl Talk<'_> {
    /// Bytes up to and with `end`; `None` at the end of the connection.
    fn until(&mut self, end: &[u8]) -> Option<Vec<u8>> {
        loop {
            if let Some(at) = self.buffer.windows(end.len()).position(|w| w == end) {
                return Some(self.buffer.drain(..at + end.len()).collect());
            }
            let mut more = [0; 16 * 1024];
            match self.wire.read(&mut more) {
                0 => return None,
                count => self.buffer.extend_from_slice(&more[..count]),
            }
        }
    }

    /// Plays a step with this answer; `false` where the connection is to be closed.
    fn step(&mut self, step: Step, well: &str) -> Option<bool> {
        let key = format!("{step:?}");
        let nth = {
            let mut steps = self.seen.steps.lock().expect("whole");
            let count = steps.entry(key).or_insert(0);
            *count += 1;
            *count - 1
        };
        match (self.play)(step, &self.to, nth) {
            Does::Well => self.wire.write(well).then_some(true),
            Does::Slowly(wait) => {
                std::thread::sleep(wait);
                self.wire.write(well).then_some(true)
            }
            Does::Says(answer) => self.wire.write(&format!("{answer}\r\n")).then_some(false),
            Does::SaysAndCloses(answer) => {
                self.wire.write(&format!("{answer}\r\n"));
                None
            }
            Does::Closes | Does::KeepsAndCloses => None,
        }
    }

    fn all(&mut self, tls: Option<Arc<rustls::ServerConfig>>) {
        if self.step(Step::Greeting, "220 localhost ready\r\n") != Some(true) {
            return;
        }
        while let Some(line) = self.until(b"\r\n") {
            let line = String::from_utf8_lossy(&line).trim_end().to_owned();
            let verb = line.split([' ', ':']).next().unwrap_or("").to_ascii_uppercase();
            let goes_on = match verb.as_str() {
                "EHLO" => {
                    let offer = match (&tls, &self.wire) {
                        (Some(_), Wire::Plain(_)) => "250-STARTTLS\r\n",
                        _ => "",
                    };
                    self.wire
                        .write(&format!("250-localhost\r\n{offer}250 AUTH PLAIN LOGIN\r\n"))
                }
                "STARTTLS" => match &tls {
                    Some(config) if self.wire.write("220 go on\r\n") => self.secure(config.clone()),
                    _ => false,
                },
                "AUTH" => self.step(Step::Auth, "235 welcome\r\n").is_some(),
                "MAIL" => self.step(Step::Mail, "250 sender\r\n").is_some(),
                "RCPT" => {
                    self.to = line.split(['<', '>']).nth(1).unwrap_or("").to_owned();
                    self.step(Step::Rcpt, "250 recipient\r\n").is_some()
                }
                "DATA" => match self.step(Step::Data, "354 go on\r\n") {
                    Some(true) => self.letter(),
                    other => other.is_some(),
                },
                "QUIT" => {
                    self.wire.write("221 bye\r\n");
                    false
                }
                _ => self.wire.write("250 well\r\n"),
            };
            if !goes_on {
                return;
            }
        }
    }

    /// The message up to its final dot.
    fn letter(&mut self) -> bool {
        let Some(mut letter) = self.until(b"\r\n.\r\n") else {
            return true;
        };
        letter.truncate(letter.len() - 3);
        let to = self.to.clone();
        let seen = self.seen;
        let keep = || seen.letters.lock().expect("whole").push((to, letter));
        let nth = self
            .seen
            .steps
            .lock()
            .expect("whole")
            .get("Dot")
            .copied()
            .unwrap_or(0);
        // A server that will answer well has the letter before it answers.
        match (self.play)(Step::Dot, &self.to, nth) {
            Does::Well | Does::Slowly(_) | Does::KeepsAndCloses => keep(),
            _ => {}
        }
        self.step(Step::Dot, "250 2.0.0 kept\r\n").is_some()
    }

    fn secure(&mut self, config: Arc<rustls::ServerConfig>) -> bool {
        let Wire::Plain(stream) = std::mem::replace(&mut self.wire, Wire::Gone) else {
            return false;
        };
        let Ok(connection) = rustls::ServerConnection::new(config) else {
            return false;
        };
        self.wire = Wire::Tls(Box::new(rustls::StreamOwned::new(connection, stream)));
        true
    }
}
