//! No service can be reached: the program says so soon, and says it once.

use std::time::{Duration, Instant};

use assert_cmd::Command;

use crate::house::source::root;

/// A certificate that nobody uses, so that the program starts on a machine that has none.
const CERTIFICATE: &str = "-----BEGIN CERTIFICATE-----
MIIBlDCCATmgAwIBAgIUJEVRyizyg4XxHQzsxOp207wwDugwCgYIKoZIzj0EAwIw
HjEcMBoGA1UEAwwTaW52ZW50ZWQgZm9yIGEgdGVzdDAgFw0yNjExMjYwMjI4NTBa
GA8yMTI2MTEwMjAyMjg1MFowHjEcMBoGA1UEAwwTaW52ZW50ZWQgZm9yIGEgdGVz
dDBZMBMGByqGSM49AgEGCCqGSM49AwEHA0IABKBaas5vzBhATJllxHg4DYWAdLNK
elZ2q51ErGI+Lei4l7RARScYtKXEPUCPRq/tEiN6S8VztuIZYZf2L3ehKDOjUzBR
MB0GA1UdDgQWBBTKKjE267Osiqpijr9haOtAVIXRhzAfBgNVHSMEGDAWgBTKKjE2
67Osiqpijr9haOtAVIXRhzAPBgNVHRMBAf8EBTADAQH/MAoGCCqGSM49BAMCA0kA
MEYCIQDnOR980N82Ssxx1qJQ1tH0jCcnXps0wuRT0B1Fam5rCAIhAJ85MNZFfTDS
931dniEl8x1xnzb8GR5ATt9zQQUX5iTa
-----END CERTIFICATE-----
";

/// A brief or pull of the demonstration lake, live, with a proxy on a closed port of this machine before every
/// service: each connection is refused, and none leaves the machine.
fn refused(command: &str) -> (i32, String, String, Duration) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let certificate = folder.path().join("one.pem");
    std::fs::write(&certificate, CERTIFICATE).expect("writable");
    let listener = std::net::TcpListener::bind("127.0.0.1:0").expect("a free port");
    let proxy = format!("http://{}", listener.local_addr().expect("bound"));
    drop(listener);
    let began = Instant::now();
    let output = Command::cargo_bin("plungeline")
        .expect("the program is built")
        .current_dir(root())
        .args([command, "--lake", "config/lakes/harrow-gap.toml", "--store"])
        .arg(folder.path().join("store"))
        .env("SSL_CERT_FILE", &certificate)
        .env("HTTPS_PROXY", &proxy)
        .env("https_proxy", &proxy)
        .env_remove("NO_PROXY")
        .env_remove("no_proxy")
        .output()
        .expect("the program starts");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("UTF-8");
    (
        output.status.code().expect("a status"),
        text(output.stdout),
        text(output.stderr),
        began.elapsed(),
    )
}

#[test]
fn a_brief_without_any_service_comes_within_seconds_and_names_each_service_once() {
    let (status, page, stderr, took) = refused("brief");
    println!("a brief with every service refused took {took:.1?}");
    assert_eq!(status, 3, "{stderr}");
    assert!(took < Duration::from_secs(10), "{took:?}");
    // Three services of the lake file are on the network; of the third it wants the official alerts.
    assert_eq!(page.matches("cannot be reached").count(), 3, "{page}");
    assert!(
        page.contains("Official alerts are not known: none could be fetched"),
        "{page}"
    );
    assert!(
        page.contains("Open-Meteo: cannot be reached (Connection refused)"),
        "{page}"
    );
    // Progress is a line at the start and one at the end of each host, on standard error alone.
    assert!(!page.contains("asking "), "{page}");
    let hosts: Vec<&str> = stderr
        .lines()
        .filter_map(|l| l.strip_prefix("asking ")?.split(':').next())
        .collect();
    assert!(hosts.contains(&"api.waterdata.usgs.gov"), "{stderr}");
    for host in &hosts {
        let end = format!("{host}: 0 of ");
        assert_eq!(
            stderr.lines().filter(|l| l.starts_with(&end)).count(),
            1,
            "{stderr}"
        );
    }
    assert_eq!(stderr.lines().count(), 2 * hosts.len(), "{stderr}");
}

#[test]
fn a_pull_without_any_service_tells_each_outage_once() {
    let (status, stdout, stderr, _) = refused("pull");
    // The local file of evaporation came: only a pull that brought nothing at all has failed.
    let stored = |line: &&str| line.starts_with("stored ");
    assert_eq!(
        (status, stderr.lines().filter(stored).count()),
        (0, 1),
        "{stdout}{stderr}"
    );
    assert!(
        stdout.contains("FAILED: USGS Water Data: cannot be reached"),
        "{stdout}"
    );
    assert_eq!(stderr.matches("cannot be reached").count(), 3, "{stderr}");
    assert!(
        stderr.contains("not fetched: USGS Water Data: cannot be reached"),
        "{stderr}"
    );
}
