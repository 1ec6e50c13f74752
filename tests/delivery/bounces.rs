//! Letters that come back: reports as servers write them (RFC 3464), from an mbox and from standard input.

use std::io::Write as _;
use std::process::Stdio;

use plungeline::delivery::bounce::Followed;
use plungeline::delivery::{DeliveryState as State, ReaderState};

use super::server::Server;
use super::{Scene, address, mailbox};

/// A report about one letter, in the form of RFC 3464, appendix E; `returned` is the header of the letter that it returns.
fn report(to: &str, action: &str, status: &str, returned: &str) -> String {
    format!(
        "From: Mail Delivery Subsystem <mailer-daemon@example.net>\nTo: digest@example.org\nSubject: Returned mail\n\
         Date: Fri, 27 Nov 2026 20:00:00 +0000\nMIME-Version: 1.0\n\
         Content-Type: multipart/report; report-type=delivery-status; boundary=\"b1\"\n\n\
         --b1\n\nThe mail could not be delivered.\n\n--b1\nContent-Type: message/delivery-status\n\n\
         Reporting-MTA: dns; mail.example.net\n\nFinal-Recipient: rfc822; {to}\nAction: {action}\nStatus: {status}\n\
         Diagnostic-Code: smtp; 550 {status} refused,\n and folded\n\n--b1\nContent-Type: message/rfc822\n\n{returned}\n--b1--\n"
    )
}

/// The header of the letter that a reader got.
fn header_of(server: &Server, to: &str) -> String {
    let letters = server.letters();
    let (_, letter) = letters
        .iter()
        .find(|(address, _)| address == to)
        .expect("a letter");
    let text = String::from_utf8(letter.clone())
        .expect("ASCII")
        .replace("\r\n", "\n");
    text.split("\n\n").next().expect("a header").to_owned() + "\n\nLevel\n"
}

#[test]
fn a_report_suspends_only_the_reader_whose_letter_it_returns() {
    let scene = Scene::new(4);
    let server = Server::sound();
    scene.settings(server.port, "", "");
    assert_eq!(Scene::ran(scene.sending(&[])).0, 0);
    let made_up = "Message-ID: <digest.0123456789abcdef@example.org>\nSubject: x\n\nx\n";
    let reports = [
        report(&address(0), "failed", "5.1.1", &header_of(&server, &address(0))),
        report(&address(1), "failed", "5.2.2", &header_of(&server, &address(1))),
        report(&address(2), "delayed", "4.4.1", &header_of(&server, &address(2))),
        report(&address(3), "failed", "5.1.1", made_up),
        "From: someone@example.org\nSubject: unsubscribe\n\nFrom now on no more, please.\n".to_owned(),
    ];
    let mbox: String = reports
        .iter()
        .map(|r| {
            format!(
                "From mailer-daemon Fri Nov 27 20:00:00 2026\n{}\n",
                r.replace("\nFrom ", "\n>From ")
            )
        })
        .collect();
    let file = scene.home.path().join("bounces.mbox");
    std::fs::write(&file, mbox).expect("writable");
    let read = || {
        let mut command = scene.digest(&["bounces"]);
        command.arg(&file);
        Scene::ran(command)
    };
    let (status, told, _) = read();
    assert_eq!(status, 0);
    let lines: Vec<&str> = told.lines().collect();
    assert_eq!(
        lines,
        [
            "r000@example.org: the letter came back; nothing more is sent there (failed 5.1.1)",
            "r001@example.org: the letter came back (failed 5.2.2)",
            "r002@example.org: noted (delayed 4.4.1)",
            "r003@example.org: no letter of this lake is named in the report: passed over (failed 5.1.1)",
            "a message that is no report of delivery: passed over",
        ]
    );
    assert_eq!((scene.count(State::Bounced), scene.count(State::Handed)), (2, 2));
    let state = |i| {
        scene
            .book()
            .find(&mailbox(&address(i)))
            .expect("read")
            .expect("there")
    };
    assert_eq!(state(0).state, ReaderState::Suspended);
    assert_eq!((state(1).state, state(1).bounces), (ReaderState::Confirmed, 1));
    assert_eq!((state(3).state, state(3).bounces), (ReaderState::Confirmed, 0));

    // The same mailbox again counts nothing twice.
    let (_, told, _) = read();
    assert!(told.contains("r001@example.org: read before"), "{told}");
    assert_eq!(state(1).bounces, 1);
}

/// RFC 3464, section 2.3.3: `failed` says that the letter will not be delivered; 4.4.7 is a time that ran out (RFC 3463, section 3.5).
#[test]
fn a_letter_whose_time_ran_out_has_bounced_and_counts_nothing() {
    let scene = Scene::new(2);
    let server = Server::sound();
    scene.settings(server.port, "", "");
    assert_eq!(Scene::ran(scene.sending(&[])).0, 0);
    let mut book = scene.book();
    let mut take = |i: usize, status: &str| {
        let report = report(&address(i), "failed", status, &header_of(&server, &address(i)));
        let report = report.replace("refused", &format!("{} refused", address(i)));
        let found = book.take_message(report.as_bytes(), chrono::Utc::now());
        found.expect("kept").pop().expect("a report")
    };
    assert!(matches!(take(0, "4.4.7"), Followed::Bounced(_)));
    assert!(matches!(take(0, "4.4.7"), Followed::Known(_)));
    assert!(matches!(take(1, "5.2.2"), Followed::Bounced(_)));
    assert_eq!(scene.count(State::Bounced), 2);
    let bounces = |i: usize| {
        let found = scene.book().find(&mailbox(&address(i))).expect("read");
        found.expect("there").bounces
    };
    assert_eq!((bounces(0), bounces(1)), (0, 1));
    let replies: Vec<String> = scene.rows().into_iter().filter_map(|row| row.reply).collect();
    assert!(
        replies.iter().all(|reply| reply.contains("<the reader> refused")),
        "{replies:?}"
    );
}

#[test]
fn a_report_about_one_who_left_brings_no_address_back() {
    let scene = Scene::new(1);
    let server = Server::sound();
    scene.settings(server.port, "", "");
    assert_eq!(Scene::ran(scene.sending(&[])).0, 0);
    let report = report(&address(0), "failed", "5.1.1", &header_of(&server, &address(0)));
    let report = report.replace("refused", &address(0));
    let mut book = scene.book();
    assert!(
        book.remove(&mailbox(&address(0)), chrono::Utc::now())
            .expect("removed")
    );
    book.take_message(report.as_bytes(), chrono::Utc::now())
        .expect("kept");
    let replies: Vec<Option<String>> = scene.rows().into_iter().map(|row| row.reply).collect();
    assert_eq!(replies, [Some("failed 5.1.1".to_owned())]);
}

#[test]
fn the_third_letter_that_comes_back_is_the_last_and_a_new_consent_begins_anew() {
    let scene = Scene::new(1);
    let server = Server::sound();
    scene.settings(server.port, "", "");
    let as_of = [
        "2026-11-05T20:00:00Z",
        "2026-11-12T20:00:00Z",
        "2026-11-19T20:00:00Z",
        "2026-11-26T20:00:00Z",
    ];
    // The reader was confirmed an hour ago by the wall clock; the runs play in weeks of their own.
    let day = chrono::NaiveDate::from_ymd_opt(2026, 11, 1).expect("a day");
    let early = "2026-11-01T20:00:00Z".parse().expect("an instant");
    let confirm = || {
        let mut book = scene.book();
        let consent = (day, "invented");
        book.confirm_by_owner(&mailbox(&address(0)), consent, early)
            .expect("confirmed");
    };
    confirm();
    for (nth, instant) in as_of.iter().enumerate() {
        let (status, _, told) = Scene::ran(scene.sending(&["--as-of", instant]));
        assert_eq!(status, 0, "{told}");
        let letters = server.letters();
        // The fourth is not sent any more.
        assert_eq!(letters.len(), (nth + 1).min(3), "{told}");
        let (_, last) = letters.last().expect("a letter");
        let returned = String::from_utf8(last.clone()).expect("ASCII");
        let mut child = scene
            .digest(&["bounces"])
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .spawn()
            .expect("the program starts");
        let report = report(&address(0), "failed", "5.2.1", &returned.replace("\r\n", "\n"));
        let mut stdin = child.stdin.take().expect("a pipe");
        stdin.write_all(report.as_bytes()).expect("read");
        drop(stdin);
        assert!(child.wait().expect("ends").success());
    }
    let find = || {
        scene
            .book()
            .find(&mailbox(&address(0)))
            .expect("read")
            .expect("there")
    };
    assert_eq!((find().state, find().bounces), (ReaderState::Suspended, 3));
    confirm();
    assert_eq!((find().state, find().bounces), (ReaderState::Confirmed, 0));
}
