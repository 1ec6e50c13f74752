//! The list of readers as its owner uses it.

use plungeline::delivery::ReaderState;

use super::server::Server;
use super::{Scene, mailbox};

fn told(scene: &Scene, arguments: &[&str], status: i32, words: &[&str]) -> String {
    let (found, stdout, stderr) = Scene::ran(scene.digest(arguments));
    assert_eq!(found, status, "{arguments:?}: {stderr}");
    for word in words {
        assert!(stderr.contains(word), "{word:?} is not in {stderr:?}");
    }
    stdout
}

const CONSENT: [&str; 4] = [
    "--consent",
    "2025-10-01",
    "--source",
    "asked at the ramp, on paper",
];

/// Provokes `Error::Delivery` by `DeliveryError::Faulty`: what could begin a header or a command of its own.
#[test]
fn what_could_begin_a_header_of_its_own_is_refused_with_a_clear_word() {
    let scene = Scene::new(0);
    for address in [
        "ann@example.org\r\nBcc: all@example.org",
        "ann@example.org\nRCPT TO:<bob@example.org>",
        "ann@example.org>\r\nDATA\r\n",
        "ann@example.org,bob@example.org",
    ] {
        told(
            &scene,
            &["readers", "add", address],
            2,
            &["the address: found", "wanted one bare address"],
        );
    }
    let named = [
        "readers",
        "add",
        "ann@example.org",
        "--name",
        "Ann\r\nBcc: all@example.org",
    ];
    told(
        &scene,
        &named,
        2,
        &["the name: found", "could begin a header of its own"],
    );
    let file = scene.home.path().join("bad.csv");
    std::fs::write(
        &file,
        "address,name\n\"ann@example.org\",\"Ann\nSubject: x\"\nbob@example.org,Bob\n",
    )
    .expect("writable");
    let file = file.to_str().expect("UTF-8");
    told(
        &scene,
        &["readers", "import", file],
        2,
        &["bad.csv: nothing was changed", "line 2, the name"],
    );
    assert_eq!(told(&scene, &["readers", "list"], 0, &[]), "no readers\n");
}

/// Provokes `DeliveryError::Known`, `DeliveryError::NoReader`, `DeliveryError::WrongToken`.
#[test]
fn nobody_gets_a_letter_before_the_word_came_back() {
    let scene = Scene::new(0);
    let shown = told(
        &scene,
        &["readers", "add", "ann@example.org"],
        0,
        &["is still to confirm"],
    );
    let token = shown
        .strip_prefix("ann@example.org ")
        .expect("the word")
        .trim()
        .to_owned();
    assert_eq!(token.len(), 32);
    told(
        &scene,
        &["readers", "add", "ANN@example.org"],
        2,
        &["found it on the list already"],
    );
    told(
        &scene,
        &["readers", "confirm", "bob@example.org", "--token", &token],
        2,
        &["found none"],
    );
    told(
        &scene,
        &["readers", "confirm", "ann@example.org", "--token", "0"],
        2,
        &["another word"],
    );

    let server = Server::sound();
    scene.settings(server.port, "", "");
    assert_eq!(Scene::ran(scene.sending(&[])).0, 0);
    assert!(server.letters().is_empty());

    told(
        &scene,
        &["readers", "confirm", "ann@example.org", "--token", &token],
        0,
        &["gets the next letter"],
    );
    // The word is good once.
    told(
        &scene,
        &["readers", "confirm", "ann@example.org", "--token", &token],
        2,
        &["another word"],
    );
    assert_eq!(Scene::ran(scene.sending(&[])).0, 0);
    assert_eq!(server.counts().get("ann@example.org"), Some(&1));
    // The word itself is not kept.
    let kept = std::fs::read(scene.book().path()).expect("readable");
    assert!(!kept.windows(32).any(|w| w == token.as_bytes()));
}

/// Provokes `DeliveryError::Removed`.
#[test]
fn one_who_left_stays_away_and_only_the_key_is_kept() {
    let scene = Scene::new(0);
    let add = |more: &[&str], status: i32, words: &[&str]| {
        let arguments = [
            &["readers", "add", "ann@example.org", "--name", "Ann Harrow"],
            more,
        ]
        .concat();
        told(&scene, &arguments, status, words)
    };
    add(&CONSENT, 0, &["gets the next letter"]);
    let table = told(&scene, &["readers", "export"], 0, &[]);
    assert_eq!(
        table,
        "address,name,units,decimal,hours,state,consent_on,consent_source\n\
         ann@example.org,Ann Harrow,us,point,24h,confirmed,2025-10-01,\"asked at the ramp, on paper\"\n"
    );
    told(
        &scene,
        &["readers", "remove", "Ann@Example.org"],
        0,
        &["is removed"],
    );
    let file = scene.home.path().join("old.csv");
    std::fs::write(&file, table + "bob@example.org,,metric,comma,12h,,,\n").expect("writable");
    let file = file.to_str().expect("UTF-8");
    told(
        &scene,
        &["readers", "import", file],
        0,
        &[
            "ann@example.org was removed, and stays so",
            "1 added, 1 of them still to confirm",
            "1 removed before",
        ],
    );
    assert_eq!(
        scene.book().find(&mailbox("ann@example.org")).expect("read"),
        None
    );
    add(&CONSENT, 2, &["was removed on", "--rejoin"]);
    // A consent of before the removal brings nobody back, nor does asking without one.
    add(&[&CONSENT[..], &["--rejoin"]].concat(), 2, &["was removed on"]);
    for name in ["digest.sqlite", "digest.sqlite-wal"] {
        let kept = std::fs::read(scene.store.join(super::ID).join(name)).unwrap_or_default();
        let holds = |text: &[u8]| kept.windows(text.len()).any(|w| w.eq_ignore_ascii_case(text));
        assert!(
            !holds(b"ann@example") && !holds(b"Ann Harrow"),
            "{name} still has the address"
        );
    }
    let later = [
        "--consent",
        "2026-01-02",
        "--source",
        "wrote again",
        "--rejoin",
        "--as-of",
        "2026-01-03",
    ];
    told(
        &scene,
        &[
            "readers",
            "add",
            "eve@example.org",
            "--consent",
            "2025-10-01",
            "--source",
            "x",
        ],
        0,
        &[],
    );
    told(
        &scene,
        &["readers", "remove", "eve@example.org", "--as-of", "2026-01-01"],
        0,
        &[],
    );
    told(
        &scene,
        &[&["readers", "add", "eve@example.org"], &later[..]].concat(),
        0,
        &["gets the next letter"],
    );
    let found = scene
        .book()
        .find(&mailbox("eve@example.org"))
        .expect("read")
        .expect("there");
    assert_eq!(found.state, ReaderState::Confirmed);
}

#[test]
fn a_table_of_readers_goes_out_and_comes_in_again_whole() {
    let (from, to) = (Scene::new(0), Scene::new(0));
    for (address, more) in [
        (
            "ann@example.org",
            &[
                "--name",
                "Ann \"A\", Byström",
                "--units",
                "metric",
                "--decimal",
                "comma",
                "--hours",
                "12h",
            ][..],
        ),
        ("bob@example.org", &["--units", "us"][..]),
    ] {
        told(
            &from,
            &[&["readers", "add", address], more, &CONSENT].concat(),
            0,
            &[],
        );
    }
    told(
        &from,
        &["readers", "add", "cy@example.org"],
        0,
        &["still to confirm"],
    );
    let file = from.home.path().join("readers.csv");
    let file = file.to_str().expect("UTF-8");
    told(&from, &["readers", "export", "--out", file], 0, &[]);
    told(
        &to,
        &["readers", "import", file],
        0,
        &["3 added, 1 of them still to confirm"],
    );
    assert_eq!(
        told(&to, &["readers", "export"], 0, &[]),
        told(&from, &["readers", "export"], 0, &[])
    );
    // The owner has it in writing.
    let confirm = [&["readers", "confirm", "cy@example.org"], &CONSENT[..]].concat();
    told(&to, &confirm, 0, &["gets the next letter"]);
    let list = told(&to, &["readers", "list"], 0, &[]);
    assert!(
        list.contains("cy@example.org   confirmed  us point 24h"),
        "{list}"
    );
}

/// Pacific time is UTC-8 in January (Energy Policy Act of 2005, section 110): 3:00 in UTC is 19:00 of the day before at the lake.
#[test]
fn a_removal_is_of_the_day_at_the_lake() {
    let scene = Scene::new(0);
    let add = |more: &[&str], status: i32, words: &[&str]| {
        let arguments = [&["readers", "add", "ann@example.org", "--source", "wrote"], more].concat();
        told(&scene, &arguments, status, words)
    };
    add(&["--consent", "2025-10-01"], 0, &[]);
    let remove = [
        "readers",
        "remove",
        "ann@example.org",
        "--as-of",
        "2026-01-02T03:00:00Z",
    ];
    told(&scene, &remove, 0, &["is removed"]);
    let at = ["--rejoin", "--as-of", "2026-01-03T20:00:00Z"];
    // On 1 January at the lake, 2 January in UTC.
    add(
        &[&["--consent", "2026-01-01"], &at[..]].concat(),
        2,
        &["was removed on 2026-01-01"],
    );
    add(
        &[&["--consent", "2026-01-02"], &at[..]].concat(),
        0,
        &["gets the next letter"],
    );
}

/// Provokes `DeliveryError::Faulty`.
#[test]
fn neither_a_formula_nor_a_consent_of_before_1970_comes_into_the_list() {
    let scene = Scene::new(0);
    told(
        &scene,
        &["readers", "add", "=1+1@x.org"],
        2,
        &["the address: found", "formula of a spreadsheet"],
    );
    let old = [
        "readers",
        "add",
        "ann@example.org",
        "--consent",
        "1969-12-31",
        "--source",
        "wrote",
    ];
    told(
        &scene,
        &old,
        2,
        &["the day of the consent", "wanted a day from 1970-01-01"],
    );
}

#[test]
#[cfg(unix)]
fn the_list_and_its_tables_are_their_owners_alone() {
    use std::os::unix::fs::PermissionsExt as _;
    let scene = Scene::new(1);
    let out = scene.home.path().join("readers.csv");
    let shown = out.to_str().expect("UTF-8");
    told(&scene, &["readers", "export", "--out", shown], 0, &[]);
    for path in [scene.book().path().to_owned(), out] {
        let mode = std::fs::metadata(&path).expect("there").permissions().mode();
        assert_eq!(mode & 0o777, 0o600, "{}", path.display());
    }
}
