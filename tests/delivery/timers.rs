//! `--if-due`, as timers call it: once a week by the lake's clocks.

use plungeline::delivery::DeliveryState as State;

use super::server::Server;
use super::{Scene, address, confirmed, mailbox};

#[test]
fn a_timer_that_asks_all_the_time_sends_one_letter_a_week_at_the_civil_hour() {
    let scene = Scene::new(0);
    let at = "2026-10-01T00:00:00Z".parse().expect("an instant");
    scene.book().import(&[confirmed(&address(0))], at).expect("added");
    let server = Server::sound();
    scene.settings(
        server.port,
        "",
        "[schedule]\nweekday = \"thursday\"\ntime = \"18:00\"\n",
    );
    // Clocks at the lake: UTC-7 to 1 November 2026, 2:00, then UTC-8 (Energy Policy Act of 2005, section 110). Nothing is sent
    // before the first slot after the reader came, nor more than 48 h after a slot.
    let cases = [
        ("2026-10-23T00:59:00Z", 0), // Thursday 17:59; the slot of the week before lies 7 days back
        ("2026-10-23T01:00:00Z", 1), // 18:00
        ("2026-10-23T01:15:00Z", 1),
        ("2026-10-30T00:59:00Z", 1),
        ("2026-10-30T01:00:00Z", 2),
        ("2026-11-06T01:00:00Z", 2), // 17:00: clocks have changed
        ("2026-11-06T02:00:00Z", 3),
        ("2026-11-15T02:00:01Z", 3), // 48 h and a second late: the machine was off
        ("2026-11-20T02:00:00Z", 4),
    ];
    for (as_of, letters) in cases {
        let (status, _, told) = Scene::ran(scene.sending(&["--if-due", "--as-of", as_of]));
        assert_eq!(status, 0, "{as_of}: {told}");
        assert_eq!(server.letters().len(), letters, "{as_of}: {told}");
    }
    let weeks: Vec<String> = scene.rows().iter().map(|row| row.week.clone()).collect();
    assert_eq!(weeks, ["2026-W43", "2026-W44", "2026-W45", "2026-W47"]);
    // One who comes after the slot begins with the next.
    let late = "2026-11-20T03:00:00Z".parse().expect("an instant");
    scene
        .book()
        .import(&[confirmed(&address(1))], late)
        .expect("added");
    let (_, _, told) = Scene::ran(scene.sending(&["--if-due", "--as-of", "2026-11-20T04:00:00Z"]));
    assert_eq!(server.letters().len(), 4, "{told}");
}

#[test]
fn what_was_not_sent_in_its_week_lapses() {
    let scene = Scene::new(1);
    let early = "2026-11-01T00:00:00Z".parse().expect("an instant");
    let consent = (
        chrono::NaiveDate::from_ymd_opt(2026, 10, 1).expect("a day"),
        "invented",
    );
    scene
        .book()
        .confirm_by_owner(&mailbox(&address(0)), consent, early)
        .expect("confirmed");
    let busy = Server::playing(None, |step, _, _| match step {
        super::server::Step::Rcpt => super::server::Does::Says("450 4.2.1 busy"),
        _ => super::server::Does::Well,
    });
    scene.settings(busy.port, "", "");
    assert_eq!(
        Scene::ran(scene.sending(&["--as-of", "2026-11-05T12:00:00Z"])).0,
        0
    );
    assert_eq!(scene.count(State::Due), 1);
    let sound = Server::sound();
    scene.settings(sound.port, "", "");
    assert_eq!(
        Scene::ran(scene.sending(&["--as-of", "2026-11-12T12:00:00Z"])).0,
        0
    );
    assert_eq!((scene.count(State::Lapsed), scene.count(State::Handed)), (1, 1));
    assert_eq!(sound.letters().len(), 1);
}

#[test]
fn if_due_without_a_schedule_and_settings_that_are_not_there_are_told() {
    let scene = Scene::new(1);
    scene.settings(1, "", "");
    let (status, _, told) = Scene::ran(scene.sending(&["--if-due"]));
    assert!(status == 2 && told.contains("[schedule]: found none"), "{told}");
    // Provokes `DeliveryError::NoSettings`.
    let (status, _, told) = Scene::ran(scene.digest(&["send"]));
    assert!(
        status == 2 && told.contains("mail.toml") && told.contains("--settings"),
        "{told}"
    );
}

/// Provokes `DeliveryError::NotUnknown` and `DeliveryError::Letter`.
#[test]
fn a_letter_that_is_none_is_not_sent_and_only_what_is_unknown_is_resolved() {
    let scene = Scene::new(1);
    let server = Server::sound();
    scene.settings(server.port, "", "");
    let resolve = |how: &str| {
        let week = plungeline::delivery::Week::of(chrono::Utc::now().date_naive()).to_string();
        Scene::ran(scene.digest(&["ledger", "resolve", "r000@example.org", "--week", &week, how]))
    };
    let (status, _, told) = resolve("--again");
    assert!(status == 2 && told.contains("found no letter"), "{told}");
    std::fs::write(scene.home.path().join("letter.eml"), "Subject: x\n\nGrüße\n").expect("writable");
    let (status, _, told) = Scene::ran(scene.sending(&[]));
    assert!(status == 2 && told.contains("outside ASCII"), "{told}");
    let hidden = "Subject: x\nBcc : all@example.org\n\nHello\n";
    std::fs::write(scene.home.path().join("letter.eml"), hidden).expect("writable");
    let (status, _, told) = Scene::ran(scene.sending(&[]));
    assert!(
        status == 2 && told.contains("the header line 2, \"Bcc :"),
        "{told}"
    );
    std::fs::write(scene.home.path().join("letter.eml"), "no letter").expect("writable");
    let (status, _, told) = Scene::ran(scene.sending(&[]));
    assert!(status == 2 && told.contains("RFC 5322"), "{told}");
    assert!(server.letters().is_empty() && scene.count(State::Due) == 1);

    std::fs::write(scene.home.path().join("letter.eml"), super::MESSAGE).expect("writable");
    let drops = Server::playing(None, |step, _, _| match step {
        super::server::Step::Dot => super::server::Does::Closes,
        _ => super::server::Does::Well,
    });
    scene.settings(drops.port, "", "");
    assert_eq!(Scene::ran(scene.sending(&[])).0, 1);
    scene.settings(server.port, "", "");
    assert_eq!(resolve("--again").0, 0);
    assert_eq!(Scene::ran(scene.sending(&[])).0, 0);
    assert_eq!(server.letters().len(), 1);
    let (status, _, told) = resolve("--arrived");
    assert!(status == 2 && told.contains("found one that is handed"), "{told}");
}

/// Provokes `DeliveryError::NotOurs` and `DeliveryError::Database`.
#[test]
fn a_list_that_is_none_or_cannot_be_written_is_named() {
    let scene = Scene::new(1);
    let file = scene.book().path().to_owned();
    std::fs::remove_dir_all(&scene.store).expect("removable");
    std::fs::create_dir_all(file.parent().expect("a folder")).expect("writable");
    std::fs::write(&file, "x".repeat(4096)).expect("writable");
    let (status, _, told) = Scene::ran(scene.digest(&["readers", "list"]));
    assert!(
        status == 1 && told.contains("damaged or no list of readers"),
        "{told}"
    );
    std::fs::remove_file(&file).expect("removable");
    std::fs::create_dir(&file).expect("writable");
    let (status, _, told) = Scene::ran(scene.digest(&["readers", "list"]));
    assert!(
        status == 1 && told.contains("opening the list of readers in"),
        "{told}"
    );
}

#[test]
fn a_dry_run_makes_and_checks_every_letter_and_changes_nothing() {
    let scene = Scene::new(3);
    scene.settings(1, "", "");
    let (status, _, told) = Scene::ran(scene.sending(&["--dry-run"]));
    assert_eq!(status, 0, "{told}");
    assert!(
        told.contains("3 letters of") && told.contains("nothing was sent"),
        "{told}"
    );
    assert_eq!(scene.rows(), []);
}

#[test]
fn the_settings_that_the_document_shows_are_sound() {
    let document = crate::house::source::document("docs/digest.md");
    let shown = document
        .split("```toml\n")
        .nth(1)
        .and_then(|rest| rest.split("```").next())
        .expect("the sample");
    assert_eq!(
        shown,
        crate::house::source::document("fixtures/letters/mail.toml")
    );
    let read = plungeline::delivery::read_settings(shown, std::path::Path::new("mail.toml")).expect("sound");
    // Every key that is shown in a comment is one.
    let all = shown.replace("\n# ", "\n");
    let all = plungeline::delivery::read_settings(&all, std::path::Path::new("mail.toml")).expect("sound");
    assert_eq!((all.host, all.schedule), (read.host, read.schedule));
    // What is said where nothing is: the comments tell the defaults.
    assert_eq!(
        (all.timeout, all.per_minute, all.retry_after),
        (read.timeout, read.per_minute, read.retry_after)
    );
}
