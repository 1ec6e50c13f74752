//! Notices never flap, and are told once: over restarts, by two programs at once, and after a crash.

use std::path::Path;

use chrono::{DateTime, TimeDelta, Utc};
use proptest::prelude::*;

use plungeline::error::{Error, Status};
use plungeline::lake::{Notice, NoticeCondition, NoticeSide};
use plungeline::notices::{
    Clock, Lack, Ledger, NoticeError, NoticeFigure, NoticeReport, NoticeState, Reading, Track, not_remembered,
};

/// A level notice: told at 240 m and below, again after 240.5 m and above for a day.
fn low() -> Notice {
    Notice {
        id: "low".to_owned(),
        condition: NoticeCondition::Level {
            side: NoticeSide::AtMost,
            elevation_m: 240.0,
            margin_m: 0.5,
        },
        rearm_days: 1.0,
        note: None,
    }
}

fn at(day: i64) -> DateTime<Utc> {
    DateTime::from_timestamp(1_760_000_000, 0).expect("an instant") + TimeDelta::days(day)
}

fn level(elevation_m: f64) -> Reading {
    Reading::Known {
        figure: NoticeFigure::Level { elevation_m },
        over: false,
    }
}

fn clock(as_of: DateTime<Utc>) -> Clock {
    Clock {
        as_of,
        made_at: as_of,
        track: Track::Live,
        keep: true,
    }
}

/// One run of the program: the ledger opened anew, one look, closed.
fn run(folder: &Path, reading: Reading, clock: Clock) -> NoticeState {
    let notice = low();
    let mut ledger = Ledger::open(folder).expect("a ledger");
    let reports: Vec<NoticeReport> = ledger.settle(&[(&notice, reading)], clock).expect("judged");
    let [report] = &reports[..] else {
        panic!("{reports:?}")
    };
    report.state.clone()
}

fn fired(folder: &Path) -> usize {
    let ledger = Ledger::open(folder).expect("a ledger");
    let rows = ledger.fired(Track::Live, at(-1), at(100_000)).expect("read");
    rows.len()
}

const FIRED: NoticeState = NoticeState::Fired { already: false };

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    #[test]
    fn what_wavers_within_the_margin_is_told_once_at_most(
        levels in prop::collection::vec(prop::option::weighted(0.8, 239.0_f64..240.499), 1..25),
    ) {
        let folder = tempfile::tempdir().expect("a folder");
        run(folder.path(), level(241.0), clock(at(0)));
        for (day, seen) in (1..).zip(&levels) {
            let reading = seen.map_or(Reading::NotKnown(Lack::Level), level);
            run(folder.path(), reading, clock(at(day)));
        }
        let crosses = levels.iter().flatten().any(|m| *m <= 240.0);
        prop_assert_eq!(fired(folder.path()), usize::from(crosses));
    }

    #[test]
    fn it_is_told_as_often_as_it_comes_to_hold_after_a_day_of_calm(
        swings in prop::collection::vec((1_usize..4, 1_usize..5), 1..5),
    ) {
        // So many days low, then so many days at 241 m; two looks a day apart are a day of calm.
        let folder = tempfile::tempdir().expect("a folder");
        run(folder.path(), level(241.0), clock(at(0)));
        let (mut day, mut wanted, mut armed) = (0, 0, true);
        for (low_days, high_days) in swings {
            for _ in 0..low_days {
                day += 1;
                run(folder.path(), level(239.9), clock(at(day)));
            }
            wanted += usize::from(armed);
            for _ in 0..high_days {
                day += 1;
                run(folder.path(), level(241.0), clock(at(day)));
            }
            armed = high_days >= 2;
        }
        prop_assert_eq!(fired(folder.path()), wanted);
    }
}

#[test]
fn it_is_told_once_over_restarts_and_what_is_missing_changes_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let unknown = Reading::NotKnown(Lack::Level);
    let not_known = NoticeState::NotKnown { lack: Lack::Level };
    // Never seen: the first look is still to come.
    assert_eq!(run(folder, unknown, clock(at(0))), not_known);
    assert_eq!(run(folder, level(241.0), clock(at(1))), NoticeState::Quiet);
    assert_eq!(run(folder, unknown, clock(at(2))), not_known);
    assert_eq!(run(folder, level(239.0), clock(at(3))), FIRED);
    // The same clock again gives the same answer; a minute later it stands.
    assert_eq!(run(folder, level(239.0), clock(at(3))), FIRED);
    let standing = NoticeState::Standing {
        fired_at: Some(at(3)),
    };
    assert_eq!(
        run(folder, level(239.0), clock(at(3) + TimeDelta::minutes(1))),
        standing
    );
    // Missing days are no calm: one look of calm is not enough after them.
    for day in 4..9 {
        assert_eq!(run(folder, unknown, clock(at(day))), not_known);
    }
    assert_eq!(run(folder, level(241.0), clock(at(9))), NoticeState::Quiet);
    assert_eq!(
        run(folder, level(239.0), clock(at(9) + TimeDelta::hours(3))),
        standing
    );
    assert_eq!(fired(folder), 1);
    // So already at the first look: told once, and said.
    let other = tempfile::tempdir().expect("a folder");
    assert_eq!(
        run(other.path(), level(239.0), clock(at(0))),
        NoticeState::Fired { already: true }
    );
}

#[test]
fn a_look_back_and_a_replay_leave_the_ledger_of_live_runs_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    run(folder, level(241.0), clock(at(0)));
    let stands_unremembered = NoticeState::Standing { fired_at: None };
    let back = Clock {
        keep: false,
        ..clock(at(5))
    };
    assert_eq!(run(folder, level(239.0), back), stands_unremembered);
    // A clock before the newest look is not kept, whatever it is.
    run(folder, level(241.0), clock(at(10)));
    assert_eq!(run(folder, level(239.0), clock(at(7))), stands_unremembered);
    let replay = Clock {
        track: Track::Replay,
        ..clock(at(20))
    };
    assert_eq!(
        run(folder, level(239.0), replay),
        NoticeState::Fired { already: true }
    );
    assert_eq!(fired(folder), 0);
    assert_eq!(run(folder, level(239.0), clock(at(11))), FIRED);
    assert_eq!(fired(folder), 1);
}

#[test]
fn of_many_programs_at_once_one_tells_it() {
    let folder = tempfile::tempdir().expect("a folder");
    run(folder.path(), level(241.0), clock(at(0)));
    let states: Vec<NoticeState> = std::thread::scope(|scope| {
        let runs: Vec<_> = (0..8)
            .map(|i| {
                let as_of = at(1) + TimeDelta::seconds(i);
                let folder = folder.path();
                scope.spawn(move || run(folder, level(239.0), clock(as_of)))
            })
            .collect();
        runs.into_iter()
            .map(|run| run.join().expect("no panic"))
            .collect()
    });
    assert_eq!(
        states.iter().filter(|state| **state == FIRED).count(),
        1,
        "{states:?}"
    );
    assert_eq!(fired(folder.path()), 1);
}

#[test]
fn a_crash_before_the_rows_are_committed_leaves_it_to_be_told() {
    let folder = tempfile::tempdir().expect("a folder");
    run(folder.path(), level(241.0), clock(at(0)));
    // What a killed program leaves: rows of a transaction that nobody commits.
    let dying = rusqlite::Connection::open(Ledger::path_in(folder.path())).expect("open");
    dying
        .execute_batch(
            "begin immediate; insert into looks select notice, condition, track, '2025-10-10T00:00:00Z', made_at, 1.0, \
             'fired', 0, null, '2025-10-10T00:00:00Z', 0 from looks;",
        )
        .expect("written, not committed");
    drop(dying);
    assert_eq!(fired(folder.path()), 0);
    assert_eq!(run(folder.path(), level(239.0), clock(at(3))), FIRED);
    assert_eq!(fired(folder.path()), 1);
}

/// Provokes `NoticeError::NotOurs`, `NoticeError::Folder`, `NoticeError::Database` and `Error::Notice`.
#[test]
fn a_ledger_that_cannot_be_used_says_why_and_nothing_is_told_as_new() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = Ledger::path_in(folder.path());
    std::fs::write(
        &file,
        "this is no database, and long enough to be seen as none at all",
    )
    .expect("written");
    let error = Ledger::open(folder.path()).expect_err("no ledger");
    assert!(matches!(error, NoticeError::NotOurs { .. }), "{error}");
    assert!(error.to_string().contains("move it away"), "{error}");
    let below = Ledger::open(&file.join("store")).expect_err("a file is no folder");
    assert!(matches!(below, NoticeError::Folder { .. }), "{below}");
    assert!(below.to_string().contains("--store"), "{below}");
    assert_eq!(Error::from(error).status(), Status::Failed);
    let other = tempfile::tempdir().expect("a folder");
    std::fs::create_dir(Ledger::path_in(other.path())).expect("made");
    let held = Ledger::open(other.path()).expect_err("a folder is no file");
    assert!(matches!(held, NoticeError::Database { .. }), "{held}");
    let notice = low();
    let reports = not_remembered(&[(&notice, level(239.0))]);
    assert_eq!(reports[0].state, NoticeState::NotKnown { lack: Lack::Ledger });
    let wrapped: Error = held.into();
    assert!(matches!(wrapped, Error::Notice(_)));
}

#[test]
fn a_condition_that_was_changed_begins_anew() {
    let folder = tempfile::tempdir().expect("a folder");
    run(folder.path(), level(239.0), clock(at(0)));
    let mut changed = low();
    changed.condition = NoticeCondition::Level {
        side: NoticeSide::AtMost,
        elevation_m: 239.5,
        margin_m: 0.5,
    };
    let mut ledger = Ledger::open(folder.path()).expect("a ledger");
    let reports = ledger
        .settle(&[(&changed, level(239.0))], clock(at(1)))
        .expect("judged");
    assert_eq!(reports[0].state, NoticeState::Fired { already: true });
}

#[test]
fn a_margin_that_was_changed_tells_nothing_again() {
    let folder = tempfile::tempdir().expect("a folder");
    let first = run(folder.path(), level(239.0), clock(at(0)));
    assert_eq!(first, NoticeState::Fired { already: true });
    let mut changed = low();
    changed.condition = NoticeCondition::Level {
        side: NoticeSide::AtMost,
        elevation_m: 240.0,
        margin_m: 1.5,
    };
    let mut ledger = Ledger::open(folder.path()).expect("a ledger");
    let reports = ledger
        .settle(&[(&changed, level(239.0))], clock(at(1)))
        .expect("judged");
    assert!(
        matches!(reports[0].state, NoticeState::Standing { .. }),
        "{reports:?}"
    );
}
