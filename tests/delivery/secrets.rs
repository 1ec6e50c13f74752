//! Passwords: where they may come from, and that they stand in no output, no log and no file.

use std::path::Path;

use super::Scene;
use super::server::{Does, Server, Step};

const PASSWORD: &str = "fourteen-herons";
/// The same as the login sends it (RFC 4616): base64 of NUL, the user "lake", NUL, the password.
const AS_SENT: &str = "AGxha2UAZm91cnRlZW4taGVyb25z";

fn no_trace(text: &str) {
    assert!(!text.contains(PASSWORD) && !text.contains(AS_SENT), "{text}");
}

/// Every file below a folder but the one with the password.
fn files(folder: &Path, visit: &mut impl FnMut(&Path, &[u8])) {
    for entry in std::fs::read_dir(folder).expect("readable").flatten() {
        let path = entry.path();
        if path.is_dir() {
            files(&path, visit);
        } else if path.file_name().is_some_and(|n| n != "password") {
            visit(&path, &std::fs::read(&path).expect("readable"));
        }
    }
}

#[test]
fn a_password_stands_in_no_output_log_or_file_even_if_the_server_repeats_it() {
    let scene = Scene::new(2);
    let echo = Server::playing(None, |step, _, nth| match (step, nth) {
        (Step::Auth, 0) => Does::Says("535 5.7.8 wrong: fourteen-herons AGxha2UAZm91cnRlZW4taGVyb25z"),
        (Step::Rcpt, 0) => Does::Says("550 5.1.1 you said fourteen-herons"),
        _ => Does::Well,
    });
    scene.settings(echo.port, "user = \"lake\"\npassword_env = \"LAKE_PASSWORD\"", "");
    for (expected, words) in [(1, "logging in"), (1, "1 handed over, 1 refused for good")] {
        let mut command = scene.sending(&[]);
        command
            .env("LAKE_PASSWORD", PASSWORD)
            .env("PLUNGELINE_LOG", "trace");
        let (status, stdout, stderr) = Scene::ran(command);
        assert_eq!(status, expected, "{stderr}");
        assert!(stderr.contains(words), "{stderr}");
        no_trace(&stdout);
        no_trace(&stderr);
    }
    for arguments in [
        &["ledger", "list"][..],
        &["readers", "list"],
        &["readers", "export"],
    ] {
        let (_, stdout, stderr) = Scene::ran(scene.digest(arguments));
        no_trace(&(stdout + &stderr));
    }
    files(scene.home.path(), &mut |path, bytes| {
        let text = String::from_utf8_lossy(bytes);
        assert!(
            !text.contains(PASSWORD) && !text.contains(AS_SENT),
            "{}",
            path.display()
        );
    });
}

/// Provokes `DeliveryError::NoSecret`.
#[test]
fn a_password_that_is_not_to_be_had_is_told_by_its_place() {
    let scene = Scene::new(1);
    let server = Server::sound();
    for (place, words) in [
        (
            "password_env = \"NOT_SET_ANYWHERE\"",
            "the variable NOT_SET_ANYWHERE",
        ),
        (
            "password_command = [\"false\"]",
            "that it ended with exit status: 1",
        ),
        (
            "password_command = [\"/no/such/program\"]",
            "that it does not start",
        ),
        ("password_command = [\"true\"]", "found nothing"),
    ] {
        scene.settings(server.port, &format!("user = \"lake\"\n{place}"), "");
        let (status, _, stderr) = Scene::ran(scene.sending(&[]));
        assert_eq!(status, 2, "{stderr}");
        assert!(
            stderr.contains("getting the password from") && stderr.contains(words),
            "{stderr}"
        );
    }
    scene.settings(
        server.port,
        &format!("user = \"lake\"\npassword_command = [\"echo\", \"{PASSWORD}\"]"),
        "",
    );
    assert_eq!(Scene::ran(scene.sending(&[])).0, 0);
    assert_eq!(server.letters().len(), 1);
}

/// Provokes `DeliveryError::Exposed` and `DeliveryError::Unreadable`.
#[test]
#[cfg(unix)]
fn a_file_with_a_password_that_others_can_read_is_refused() {
    use std::os::unix::fs::PermissionsExt as _;
    let scene = Scene::new(1);
    let server = Server::sound();
    scene.settings(server.port, "user = \"lake\"\npassword_file = \"password\"", "");
    let (status, _, stderr) = Scene::ran(scene.sending(&[]));
    assert!(status == 2 && stderr.contains("password: "), "{stderr}");
    let file = scene.home.path().join("password");
    std::fs::write(&file, format!("{PASSWORD}\n")).expect("writable");
    for (mode, expected) in [(0o644, 2), (0o640, 2), (0o604, 2), (0o600, 0)] {
        std::fs::set_permissions(&file, std::fs::Permissions::from_mode(mode)).expect("own file");
        let (status, _, stderr) = Scene::ran(scene.sending(&[]));
        assert_eq!(status, expected, "{mode:o}: {stderr}");
        assert_eq!(expected == 2, stderr.contains("chmod 600"), "{stderr}");
        no_trace(&stderr);
    }
}
