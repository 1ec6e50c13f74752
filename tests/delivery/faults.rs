//! The table of faults: what is sent, what is not, and that nobody gets a letter twice.

use std::net::TcpListener;

use plungeline::delivery::{Book, DeliveryState as State, ReaderState};

use super::server::{Does, Identity, Server, Step};
use super::{ID, Scene, address, mailbox};

const READERS: usize = 10;
const QUICK: &str = "[pace]\nper_minute = 60000\nretry_after_s = [1]\n";

/// What a run of ten letters came to.
struct Came {
    status: i32,
    told: String,
    handed: usize,
    due: usize,
    failed: usize,
    unknown: usize,
}

fn run(scene: &Scene, arguments: &[&str]) -> Came {
    let (status, stdout, told) = Scene::ran(scene.sending(arguments));
    assert_eq!(stdout, "");
    let came = Came {
        status,
        told,
        handed: scene.count(State::Handed),
        due: scene.count(State::Due),
        failed: scene.count(State::Failed),
        unknown: scene.count(State::Unknown),
    };
    let moving = scene.count(State::Claimed) + scene.count(State::Sending);
    assert_eq!(
        moving, 0,
        "a run that ends leaves nothing in the middle: {}",
        came.told
    );
    came
}

impl Came {
    fn counts(&self) -> [usize; 4] {
        [self.handed, self.due, self.failed, self.unknown]
    }
}

/// Every reader got at most one letter from both servers, and these many in all.
fn once_each(servers: &[&Server], in_all: usize) {
    let mut counts = std::collections::BTreeMap::new();
    for server in servers {
        for (to, count) in server.counts() {
            *counts.entry(to).or_insert(0) += count;
        }
    }
    assert!(counts.values().all(|count| *count == 1), "twice: {counts:?}");
    assert_eq!(counts.len(), in_all, "{counts:?}");
}

/// A run against a server with a fault, then one against a sound server, with these counts of handed, due, failed, unknown letters.
fn both(
    play: impl Fn(Step, &str, usize) -> Does + Send + Sync + 'static,
    arguments: &[&str],
    (status, first): (i32, [usize; 4]),
    second: [usize; 4],
    kept: usize,
) -> Came {
    let scene = Scene::new(READERS);
    let server = Server::playing(None, play);
    scene.settings(server.port, "", QUICK);
    let came = run(&scene, arguments);
    assert_eq!((came.status, came.counts()), (status, first), "{}", came.told);
    // Whole seconds are kept: what was put off for one may be tried in the second after it.
    std::thread::sleep(std::time::Duration::from_millis(2100));
    let sound = Server::sound();
    scene.settings(sound.port, "", QUICK);
    let after = run(&scene, &[]);
    assert_eq!(after.counts(), second, "{}", after.told);
    once_each(&[&server, &sound], kept);
    came
}

fn at(step: Step, to: usize, does: fn() -> Does) -> impl Fn(Step, &str, usize) -> Does + Send + Sync {
    let to = address(to);
    move |found, recipient, _| {
        if found == step && recipient == to {
            does()
        } else {
            Does::Well
        }
    }
}

/// Provokes `DeliveryError::Connect`.
#[test]
fn a_server_that_is_not_there_costs_no_letter() {
    let scene = Scene::new(READERS);
    let port = {
        let gone = TcpListener::bind("127.0.0.1:0").expect("a port");
        gone.local_addr().expect("an address").port()
    };
    scene.settings(port, "", "");
    let came = run(&scene, &[]);
    assert_eq!((came.status, came.counts()), (1, [0, 10, 0, 0]), "{}", came.told);
    assert!(
        came.told.contains("reaching the mail server localhost:"),
        "{}",
        came.told
    );
    assert_eq!(came.told.matches("trying again").count(), 3, "{}", came.told);
    let sound = Server::sound();
    scene.settings(sound.port, "", "");
    assert_eq!(run(&scene, &[]).counts(), [10, 0, 0, 0]);
    once_each(&[&sound], 10);
}

#[test]
fn a_server_that_closes_in_the_middle_of_a_run_is_asked_again() {
    let play = |step, _: &str, nth| match (step, nth) {
        (Step::Mail, 3) => Does::SaysAndCloses("421 4.3.2 closing"),
        _ => Does::Well,
    };
    both(play, &[], (0, [10, 0, 0, 0]), [10, 0, 0, 0], 10);
    // After the final dot a 421 is an answer too: the letter was not taken.
    let play = |step, _: &str, nth| match (step, nth) {
        (Step::Dot, 3) => Does::SaysAndCloses("421 4.3.2 closing"),
        _ => Does::Well,
    };
    both(play, &[], (0, [10, 0, 0, 0]), [10, 0, 0, 0], 10);
}

#[test]
fn a_refusal_for_a_time_is_tried_again_later_or_in_the_same_run() {
    let play = || {
        let first = std::sync::atomic::AtomicBool::new(true);
        move |step, to: &str, _| match (step, to) {
            (Step::Rcpt, "r003@example.org") if first.swap(false, std::sync::atomic::Ordering::SeqCst) => {
                Does::Says("450 4.2.0 greylisted")
            }
            _ => Does::Well,
        }
    };
    let came = both(play(), &[], (0, [9, 1, 0, 0]), [10, 0, 0, 0], 10);
    assert!(came.told.contains("r003@example.org: put off: "), "{}", came.told);
    assert!(came.told.contains("run this again from "), "{}", came.told);
    both(
        play(),
        &["--stay-min", "1"],
        (0, [10, 0, 0, 0]),
        [10, 0, 0, 0],
        10,
    );
    // The same behind the final dot.
    let play = at(Step::Dot, 3, || Does::Says("452 4.3.1 full"));
    both(play, &[], (0, [9, 1, 0, 0]), [10, 0, 0, 0], 10);
}

#[test]
fn a_refusal_for_good_is_kept_and_not_tried_again() {
    let play = at(Step::Rcpt, 3, || Does::Says("550 5.1.1 no such mailbox"));
    let came = both(play, &[], (1, [9, 0, 1, 0]), [9, 0, 1, 0], 9);
    assert!(
        came.told.contains("550") && came.told.contains("no such mailbox"),
        "{}",
        came.told
    );
}

/// RFC 3463, section 3.2: 5.1.1 is a mailbox that does not exist, 5.1.3 a faulty address, 5.1.8 one of the sender's, 5.7.1 a policy.
#[test]
fn a_reader_whose_mailbox_a_server_does_not_know_is_not_tried_for_ever() {
    for (says, state, bounces) in [
        ("550 5.1.1 no such mailbox", ReaderState::Suspended, 1),
        ("553 5.1.3 what address is that", ReaderState::Confirmed, 1),
        ("550 5.1.8 your own address", ReaderState::Confirmed, 0),
        ("554 5.7.1 not from you", ReaderState::Confirmed, 0),
        ("550 no", ReaderState::Confirmed, 0),
    ] {
        let scene = Scene::new(READERS);
        let to = address(3);
        let play = move |step, recipient: &str, _| match step {
            Step::Rcpt if recipient == to => Does::Says(says),
            _ => Does::Well,
        };
        let server = Server::playing(None, play);
        scene.settings(server.port, "", QUICK);
        let came = run(&scene, &[]);
        assert_eq!(
            (came.status, came.counts()),
            (1, [9, 0, 1, 0]),
            "{says}: {}",
            came.told
        );
        let readers = scene.book().readers().expect("a list");
        let found = readers
            .iter()
            .find(|r| r.mailbox == mailbox(&address(3)))
            .expect("on the list");
        assert_eq!((found.state, found.bounces), (state, bounces), "{says}");
        let others = readers.iter().filter(|r| r.mailbox != found.mailbox);
        assert!(
            others
                .clone()
                .all(|r| r.state == ReaderState::Confirmed && r.bounces == 0)
        );
        assert_eq!(
            came.told.contains("nothing more is sent to this reader"),
            state == ReaderState::Suspended,
            "{}",
            came.told
        );
    }
}

#[test]
fn a_server_that_knows_no_mailbox_at_all_suspends_nobody() {
    let scene = Scene::new(READERS);
    let play = |step, _: &str, _| match step {
        Step::Rcpt => Does::Says("550 5.1.1 no such mailbox"),
        _ => Does::Well,
    };
    let server = Server::playing(None, play);
    scene.settings(server.port, "", QUICK);
    // Five in a row end the run (docs/digest.md).
    let came = run(&scene, &[]);
    assert_eq!((came.status, came.counts()), (1, [0, 5, 5, 0]), "{}", came.told);
    let readers = scene.book().readers().expect("a list");
    assert!(
        readers
            .iter()
            .all(|r| r.state == ReaderState::Confirmed && r.bounces == 0)
    );
}

#[test]
fn no_answer_after_the_dot_is_unknown_and_never_sent_again_by_itself() {
    let kept = at(Step::Dot, 3, || Does::KeepsAndCloses);
    let came = both(kept, &[], (1, [9, 0, 0, 1]), [9, 0, 0, 1], 10);
    assert!(
        came.told.contains("r003@example.org: of unknown fate"),
        "{}",
        came.told
    );
    let lost = at(Step::Dot, 3, || Does::Closes);
    both(lost, &[], (1, [9, 0, 0, 1]), [9, 0, 0, 1], 9);
}

#[test]
fn a_connection_that_ends_before_the_dot_costs_no_letter() {
    let first = std::sync::atomic::AtomicBool::new(true);
    let play = move |step, to: &str, _: usize| match (step, to) {
        (Step::Data, "r003@example.org") if first.swap(false, std::sync::atomic::Ordering::SeqCst) => {
            Does::Closes
        }
        _ => Does::Well,
    };
    both(play, &[], (0, [10, 0, 0, 0]), [10, 0, 0, 0], 10);
}

/// Provokes `DeliveryError::Refused`.
#[test]
fn what_is_refused_to_everybody_ends_the_run() {
    let sender = |step, _: &str, _| match step {
        Step::Mail => Does::Says("553 5.7.1 not your address"),
        _ => Does::Well,
    };
    let came = both(sender, &[], (1, [0, 10, 0, 0]), [10, 0, 0, 0], 10);
    assert!(came.told.contains("naming the sender"), "{}", came.told);
    let content = |step, _: &str, _| match step {
        Step::Dot => Does::Says("554 5.7.1 looks like spam"),
        _ => Does::Well,
    };
    let came = both(content, &[], (1, [0, 5, 5, 0]), [5, 0, 5, 0], 5);
    assert!(came.told.contains("5 in a row"), "{}", came.told);
}

#[test]
fn a_certificate_that_nobody_vouches_for_and_a_missing_starttls_stop_everything() {
    let identity = Identity::of("localhost");
    let scene = Scene::new(READERS);
    let server = Server::playing(Some(&identity), |_, _, _| Does::Well);
    scene.settings(server.port, "security = \"starttls\"", "");
    let came = run(&scene, &[]);
    assert_eq!((came.status, came.counts()), (1, [0, 10, 0, 0]), "{}", came.told);
    assert!(came.told.contains("setting up TLS"), "{}", came.told);

    let of_another = Identity::of("elsewhere.example.org");
    let other = Server::playing(Some(&of_another), |_, _, _| Does::Well);
    std::fs::write(scene.home.path().join("own.pem"), &of_another.certificate).expect("writable");
    let own = "security = \"starttls\"\ncertificates = \"own.pem\"";
    scene.settings(other.port, own, "");
    let came = run(&scene, &[]);
    assert_eq!((came.status, came.counts()), (1, [0, 10, 0, 0]), "{}", came.told);
    assert!(came.told.contains("setting up TLS"), "{}", came.told);

    let without = Server::sound();
    scene.settings(without.port, "security = \"starttls\"", "");
    let came = run(&scene, &[]);
    assert_eq!((came.status, came.counts()), (1, [0, 10, 0, 0]), "{}", came.told);
    assert!(came.told.contains("asking for STARTTLS"), "{}", came.told);

    std::fs::write(scene.home.path().join("own.pem"), &identity.certificate).expect("writable");
    scene.settings(server.port, own, "");
    let came = run(&scene, &[]);
    assert_eq!((came.status, came.counts()), (0, [10, 0, 0, 0]), "{}", came.told);
    once_each(&[&server, &other, &without], 10);
}

#[test]
fn a_reader_who_leaves_while_letters_are_sent_gets_none() {
    // One leaves long before the turn comes, one while the own letter is on its way to the final dot.
    let scene = Scene::new(READERS);
    let folder = scene.store.join(ID);
    let play = move |step, to: &str, nth| {
        let leaves = match (step, nth, to) {
            (Step::Mail, 1, _) => Some(address(8)),
            (Step::Data, _, "r005@example.org") => Some(address(5)),
            _ => None,
        };
        if let Some(address) = leaves {
            let mut book = Book::open(&folder).expect("the list opens");
            book.remove(&mailbox(&address), chrono::Utc::now())
                .expect("removed");
        }
        Does::Well
    };
    let server = Server::playing(None, play);
    scene.settings(server.port, "", "");
    let came = run(&scene, &[]);
    assert_eq!((came.status, came.counts()), (0, [8, 0, 0, 0]), "{}", came.told);
    assert_eq!(scene.count(State::Withdrawn), 2);
    let counts = server.counts();
    assert!(
        !counts.contains_key(&address(5)) && !counts.contains_key(&address(8)),
        "{counts:?}"
    );
    once_each(&[&server], 8);
}

/// Provokes `DeliveryError::Busy`.
#[test]
fn two_runs_at_once_send_every_letter_once() {
    let scene = Scene::new(READERS);
    let slow = |step, _: &str, _| match step {
        Step::Dot => Does::Slowly(std::time::Duration::from_millis(100)),
        _ => Does::Well,
    };
    let server = Server::playing(None, slow);
    scene.settings(server.port, "", "");
    let mut first = scene
        .sending(&[])
        .stderr(std::process::Stdio::null())
        .spawn()
        .expect("the program starts");
    while scene.count(State::Handed) == 0 {
        std::thread::sleep(std::time::Duration::from_millis(5));
    }
    let (status, _, told) = Scene::ran(scene.sending(&[]));
    assert_eq!(status, 1, "{told}");
    assert!(told.contains("another run at work"), "{told}");
    assert!(first.wait().expect("ends").success());
    assert_eq!(run(&scene, &[]).counts(), [10, 0, 0, 0]);
    once_each(&[&server], 10);
}
