//! The fault server: what it plays on a loopback address. Plain HTTP goes through wiremock; what no HTTP library
//! would send is written to the socket.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, AtomicUsize, Ordering};
use std::time::Duration;

use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::{TcpListener, TcpStream};
use tokio::task::JoinHandle;
use wiremock::matchers::any;
use wiremock::{Mock, MockServer, ResponseTemplate};

/// Bytes of the long body.
pub const LONG_BYTES: u64 = 200_000_000;

/// One fault.
pub enum Play {
    /// Nobody listens.
    Refused,
    /// The connection is reset in the middle of the body.
    ResetMidBody,
    /// A byte at a time, without end.
    SlowDrip,
    /// Headers, then nothing.
    StallAfterHeaders,
    /// 200 MB of blanks, with the length told before or not.
    LongBody { is_announced: bool },
    /// TLS with a certificate that nobody vouches for.
    Certificate,
    /// The same reply to everything.
    Always(ResponseTemplate),
    /// A reply so many times, then another.
    Then(ResponseTemplate, u64, ResponseTemplate),
}

/// A fault being played.
pub struct Stage {
    /// Its address.
    pub base: String,
    asked: Arc<AtomicUsize>,
    sent: Arc<AtomicU64>,
    mock: Option<MockServer>,
    task: Option<JoinHandle<()>>,
}

impl Stage {
    /// How often it was asked.
    pub async fn asked(&self) -> usize {
        match &self.mock {
            Some(mock) => mock
                .received_requests()
                .await
                .map_or(0, |requests| requests.len()),
            None => self.asked.load(Ordering::SeqCst),
        }
    }

    /// Bytes of bodies that went out, of what is written to the socket here.
    pub fn sent(&self) -> u64 {
        self.sent.load(Ordering::SeqCst)
    }
}

impl Drop for Stage {
    fn drop(&mut self) {
        if let Some(task) = &self.task {
            task.abort();
        }
    }
}

/// Starts playing.
pub async fn play(play: Play) -> Stage {
    let mut stage = Stage {
        base: String::new(),
        asked: Arc::default(),
        sent: Arc::default(),
        mock: None,
        task: None,
    };
    let mock = match &play {
        Play::Always(reply) => {
            let mock = MockServer::start().await;
            Mock::given(any()).respond_with(reply.clone()).mount(&mock).await;
            Some(mock)
        }
        Play::Then(first, times, then) => {
            let mock = MockServer::start().await;
            let first = Mock::given(any()).respond_with(first.clone());
            first.up_to_n_times(*times).mount(&mock).await;
            Mock::given(any()).respond_with(then.clone()).mount(&mock).await;
            Some(mock)
        }
        _ => None,
    };
    if let Some(mock) = mock {
        stage.base = mock.uri();
        stage.mock = Some(mock);
        return stage;
    }
    let listener = TcpListener::bind("127.0.0.1:0").await.expect("a free port");
    let address = listener.local_addr().expect("bound");
    let scheme = if matches!(play, Play::Certificate) {
        "https"
    } else {
        "http"
    };
    stage.base = format!("{scheme}://{address}");
    if !matches!(play, Play::Refused) {
        let (play, asked, sent) = (Arc::new(play), Arc::clone(&stage.asked), Arc::clone(&stage.sent));
        stage.task = Some(tokio::spawn(async move {
            while let Ok((stream, _)) = listener.accept().await {
                let (play, asked, sent) = (Arc::clone(&play), Arc::clone(&asked), Arc::clone(&sent));
                // An error is the client that hangs up, which is what it should do.
                tokio::spawn(async move { drop(answer(&play, stream, &asked, &sent).await) });
            }
        }));
    }
    stage
}

async fn answer(
    play: &Play,
    mut stream: TcpStream,
    asked: &AtomicUsize,
    sent: &AtomicU64,
) -> std::io::Result<()> {
    asked.fetch_add(1, Ordering::SeqCst);
    if matches!(play, Play::Certificate) {
        return offer_certificate(stream).await;
    }
    let mut request = [0; 4096];
    let _ = stream.read(&mut request).await?;
    let head = |more: &str| format!("HTTP/1.1 200 OK\r\ncontent-type: application/json\r\n{more}\r\n");
    match play {
        Play::ResetMidBody => {
            let beginning = head("content-length: 1000\r\n") + "{\"features\": [";
            stream.write_all(beginning.as_bytes()).await?;
            // Time for the client to read it: a reset discards what has not been read.
            tokio::time::sleep(Duration::from_millis(100)).await;
            stream.set_zero_linger()?;
        }
        Play::SlowDrip => {
            stream
                .write_all(head("content-length: 100000\r\n").as_bytes())
                .await?;
            loop {
                stream.write_all(b" ").await?;
                tokio::time::sleep(Duration::from_millis(20)).await;
            }
        }
        Play::StallAfterHeaders => {
            stream
                .write_all(head("content-length: 1000\r\n").as_bytes())
                .await?;
            tokio::time::sleep(Duration::from_secs(60)).await;
        }
        Play::LongBody { is_announced } => {
            let length = format!("content-length: {LONG_BYTES}\r\n");
            // Without a length the body lasts until the connection ends.
            let more = if *is_announced {
                length.as_str()
            } else {
                "connection: close\r\n"
            };
            stream.write_all(head(more).as_bytes()).await?;
            let blanks = vec![b' '; 100_000];
            while sent.load(Ordering::SeqCst) < LONG_BYTES {
                stream.write_all(&blanks).await?;
                sent.fetch_add(blanks.len() as u64, Ordering::SeqCst);
            }
        }
        _ => {}
    }
    Ok(())
}

async fn offer_certificate(stream: TcpStream) -> std::io::Result<()> {
    let own = rcgen::generate_simple_self_signed(vec!["localhost".to_owned(), "127.0.0.1".to_owned()])
        .map_err(std::io::Error::other)?;
    let key = rustls::pki_types::PrivateKeyDer::try_from(own.signing_key.serialize_der())
        .map_err(std::io::Error::other)?;
    let _already = rustls::crypto::ring::default_provider().install_default();
    let settings = rustls::ServerConfig::builder()
        .with_no_client_auth()
        .with_single_cert(vec![own.cert.der().clone()], key)
        .map_err(std::io::Error::other)?;
    let mut stream = tokio_rustls::TlsAcceptor::from(Arc::new(settings))
        .accept(stream)
        .await?;
    stream.shutdown().await
}
