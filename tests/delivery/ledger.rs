//! What the ledger keeps: letters of unknown fate, of past weeks, of another sender, and no address of one who left.

use plungeline::delivery::DeliveryState as State;

use super::server::{Does, Server, Step};
use super::{ID, Scene, address, confirmed, mailbox};

const READERS: usize = 10;
const QUICK: &str = "[pace]\nper_minute = 60000\nretry_after_s = [1]\n";

fn run(scene: &Scene, arguments: &[&str]) -> (i32, String, String) {
    Scene::ran(scene.sending(arguments))
}

#[test]
fn every_run_of_the_week_tells_of_a_letter_that_nobody_has_settled() {
    let scene = Scene::new(READERS);
    let play = |step, to: &str, _: usize| match (step, to) {
        (Step::Dot, "r003@example.org") => Does::KeepsAndCloses,
        _ => Does::Well,
    };
    let server = Server::playing(None, play);
    let schedule = format!("{QUICK}[schedule]\nweekday = \"thursday\"\ntime = \"18:00\"\nlate_h = 167\n");
    scene.settings(server.port, "", &schedule);
    // A Thursday evening at the lake (UTC-8), and the run of the week after it.
    let early = "2026-11-01T00:00:00Z".parse().expect("an instant");
    let consent = (
        chrono::NaiveDate::from_ymd_opt(2026, 10, 1).expect("a day"),
        "invented",
    );
    for i in 0..READERS {
        let to = mailbox(&address(i));
        scene
            .book()
            .confirm_by_owner(&to, consent, early)
            .expect("confirmed");
    }
    let at = ["--as-of", "2026-11-20T03:00:00Z"];
    assert_eq!(run(&scene, &at).0, 1);
    for _ in 0..2 {
        let (status, _, told) = run(&scene, &at);
        assert_eq!(status, 1, "{told}");
        assert!(told.contains("1 of unknown fate from earlier runs"), "{told}");
    }
    // A timer that asks every quarter of an hour says it once, not always.
    let (status, _, told) = run(&scene, &[&at[..], &["--if-due"]].concat());
    assert_eq!((status, told.as_str()), (0, ""));
    let sound = Server::sound();
    scene.settings(sound.port, "", &schedule);
    let (status, _, told) = run(&scene, &["--as-of", "2026-11-27T03:00:00Z"]);
    assert_eq!(status, 0, "another week: {told}");
}

#[test]
fn an_address_that_left_stands_nowhere_in_the_ledger() {
    let scene = Scene::new(READERS);
    let play = |step, to: &str, _: usize| match (step, to) {
        (Step::Rcpt, "r003@example.org") => Does::Says("550 5.2.1 <R003@example.org>: switched off"),
        (Step::Dot, "r004@example.org") => Does::Says("452 4.3.1 r004@example.org is full"),
        _ => Does::Well,
    };
    let server = Server::playing(None, play);
    scene.settings(server.port, "", QUICK);
    assert_eq!(run(&scene, &[]).0, 1);
    let replies =
        |scene: &Scene| -> Vec<String> { scene.rows().into_iter().filter_map(|row| row.reply).collect() };
    let kept = replies(&scene).join("\n");
    assert!(
        kept.contains("<the reader>: switched off") && kept.contains("<the reader> is full"),
        "{kept}"
    );
    assert!(
        !kept.to_lowercase().contains("r003@") && !kept.contains("r004@"),
        "{kept}"
    );
    // A row of an older program holds the address as the server wrote it.
    let ledger = rusqlite::Connection::open(scene.book().path()).expect("a ledger");
    let old = "update deliveries set reply = '550 5.1.1 <r003@example.org>: no' where state = 'failed'";
    assert_eq!(ledger.execute(old, []).expect("a row"), 1);
    drop(ledger);
    let mut book = scene.book();
    for i in [3, 4] {
        assert!(
            book.remove(&mailbox(&address(i)), chrono::Utc::now())
                .expect("removed")
        );
    }
    drop(book);
    for name in ["digest.sqlite", "digest.sqlite-wal"] {
        let kept = std::fs::read(scene.store.join(ID).join(name)).unwrap_or_default();
        let holds = |text: &[u8]| kept.windows(text.len()).any(|w| w.eq_ignore_ascii_case(text));
        assert!(
            !holds(b"r003@example") && !holds(b"r004@example"),
            "{name} still has an address"
        );
    }
}

/// Provokes `DeliveryError::WeekOver`. Weeks by ISO 8601: Thursday 19 November 2026 is in week 47, Monday 23 November begins week 48.
#[test]
fn no_letter_of_a_week_that_is_over_is_promised_again() {
    let scene = Scene::new(0);
    let at = "2026-10-01T00:00:00Z".parse().expect("an instant");
    scene.book().import(&[confirmed(&address(0))], at).expect("added");
    let drops = Server::playing(None, |step, _, _| match step {
        Step::Dot => Does::Closes,
        _ => Does::Well,
    });
    let schedule = "[schedule]\nweekday = \"sunday\"\ntime = \"18:00\"\nlate_h = 48\n";
    scene.settings(drops.port, "", schedule);
    assert_eq!(
        Scene::ran(scene.sending(&["--as-of", "2026-11-19T20:00:00Z"])).0,
        1
    );
    let settings = scene.home.path().join("mail.toml");
    let resolve = |how: &str, as_of: &str, with_schedule: bool| {
        let mut command = scene.digest(&["ledger", "resolve", "r000@example.org", "--week", "2026-W47", how]);
        command.args(["--as-of", as_of]);
        if with_schedule {
            command.arg("--settings").arg(&settings);
        }
        Scene::ran(command)
    };
    let (status, _, told) = resolve("--again", "2026-11-24T08:00:00Z", false);
    assert!(
        status == 2 && told.contains("a week that is over, wanted one of 2026-W48"),
        "{told}"
    );
    // More than 48 h after Sunday 18:00 at the lake (UTC-8).
    let (status, _, told) = resolve("--again", "2026-11-25T02:00:01Z", true);
    assert!(status == 2 && told.contains("a week that is over"), "{told}");
    assert_eq!(scene.count(State::Unknown), 1);
    // By the schedule a letter of week 47 still goes out on Monday.
    let (status, _, told) = resolve("--again", "2026-11-24T08:00:00Z", true);
    assert_eq!((status, scene.count(State::Due)), (0, 1), "{told}");
    let sound = Server::sound();
    scene.settings(sound.port, "", schedule);
    let (status, _, told) = Scene::ran(scene.sending(&["--if-due", "--as-of", "2026-11-24T08:15:00Z"]));
    assert_eq!((status, sound.letters().len()), (0, 1), "{told}");
}

#[test]
fn a_letter_that_was_never_tried_follows_the_domain_of_the_sender() {
    let scene = Scene::new(2);
    let mut book = scene.book();
    let week = plungeline::delivery::Week::read("2026-W48").expect("a week");
    let now = chrono::Utc::now();
    let ids = || -> Vec<String> {
        let ledger = rusqlite::Connection::open(scene.book().path()).expect("a ledger");
        let mut found = ledger
            .prepare("select message_id from deliveries join readers on key = reader order by address")
            .expect("tables");
        let rows = found.query_map([], |row| row.get(0)).expect("rows");
        rows.collect::<Result<_, _>>().expect("texts")
    };
    assert_eq!(
        book.prepare(("x", "old.example.org"), week, now, now)
            .expect("made"),
        2
    );
    // The first was tried, and put off.
    let claim = book.claim(week, "run", now).expect("read").expect("due");
    book.put_off(week, &claim, "run", (now, true, "450 later"), now)
        .expect("kept");
    assert_eq!(
        book.prepare(("x", "new.example.org"), week, now, now)
            .expect("made"),
        2
    );
    let found = ids();
    assert!(found[0].ends_with("@old.example.org>"), "{found:?}");
    assert!(found[1].ends_with("@new.example.org>"), "{found:?}");
}

#[test]
fn a_timer_is_told_once_a_week_that_the_data_are_too_thin() {
    let scene = Scene::new(0);
    // The demonstration at its default morning, Thursday 9 October 2025, 4:30 at the lake, in a store that holds nothing.
    let mut book = plungeline::delivery::Book::open(&scene.demo_folder()).expect("the list opens");
    let at = "2025-10-08T12:00:00Z".parse().expect("an instant");
    book.import(&[confirmed(&address(0))], at).expect("added");
    drop(book);
    let server = Server::sound();
    scene.settings(
        server.port,
        "",
        "[schedule]\nweekday = \"wednesday\"\ntime = \"18:00\"\n",
    );
    let send = |more: &[&str]| {
        let mut command = scene.demo(&[&["send"], more].concat());
        command.arg("--settings").arg(scene.home.path().join("mail.toml"));
        Scene::ran(command)
    };
    let (status, _, told) = send(&["--if-due"]);
    assert!(
        status == 3 && told.contains("nothing is sent"),
        "{status}: {told}"
    );
    for _ in 0..2 {
        let (status, _, told) = send(&["--if-due"]);
        assert!(
            status == 0 && !told.contains("nothing is sent"),
            "{status}: {told}"
        );
    }
    // Who asks by hand is told each time.
    let (status, _, told) = send(&[]);
    assert!(
        status == 3 && told.contains("nothing is sent"),
        "{status}: {told}"
    );
    assert!(server.letters().is_empty());
}
