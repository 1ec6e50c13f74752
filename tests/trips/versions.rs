//! History, removal, backup, and a log that cannot be opened or written.

use plungeline::trips::{OpenOptions, TripError, TripLog, Twins};

use super::scene::{as_of, trip};

#[test]
fn an_edit_keeps_what_was_and_a_removal_is_taken_back() {
    let folder = tempfile::tempdir().unwrap();
    let mut log = TripLog::open(folder.path()).unwrap();
    let first = trip("2025-10-08 sorrel 4h 2 rods rainbow-trout 3");
    let second = trip("2025-10-08 sorrel 4h 3 rods rainbow-trout 4 note better counted");
    assert_eq!(
        log.add(std::slice::from_ref(&first), Twins::Refuse, as_of())
            .unwrap()
            .numbers,
        [1]
    );
    assert_eq!(log.edit(1, &second, as_of()).unwrap(), 2);
    assert_eq!(log.remove(1, as_of()).unwrap(), 3);
    assert!(log.trips().unwrap().is_empty());
    let versions = log.versions(1).unwrap();
    let kept: Vec<_> = versions.iter().map(|v| (v.version, v.removed, &v.trip)).collect();
    assert_eq!(
        kept,
        [(1, false, &first), (2, false, &second), (3, true, &second)]
    );
    log.edit(1, &versions[0].trip, as_of()).unwrap();
    assert_eq!(log.trips().unwrap(), [(1, first)]);
    // A number is never given twice.
    log.remove(1, as_of()).unwrap();
    let other = trip("2025-10-07 main 2h 1 rod blank");
    assert_eq!(log.add(&[other], Twins::Refuse, as_of()).unwrap().numbers, [2]);
}

#[test]
fn numbers_and_versions_that_there_are_not_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let mut log = TripLog::open(folder.path()).unwrap();
    let error = log.versions(1).unwrap_err();
    assert!(
        matches!(error, TripError::NoTrip { .. }) && error.to_string().contains("an empty log"),
        "{error}"
    );
    log.add(&[trip("2025-10-08 main 4h 2 rods blank")], Twins::Refuse, as_of())
        .unwrap();
    let error = log.remove(7, as_of()).unwrap_err();
    assert!(
        matches!(error, TripError::NoTrip { number: 7, .. })
            && error.to_string().contains("numbers from 1 to 1"),
        "{error}"
    );
    for version in [0, 2] {
        let error = log.version(1, Some(version)).unwrap_err();
        assert!(
            matches!(error, TripError::NoVersion { .. }) && error.to_string().contains("versions 1 to 1"),
            "{error}"
        );
    }
}

#[test]
fn a_backup_is_whole_while_the_log_is_written_and_never_goes_over_a_file() {
    let folder = tempfile::tempdir().unwrap();
    let mut log = TripLog::open(folder.path()).unwrap();
    log.add(&[trip("2025-10-08 main 4h 2 rods blank")], Twins::Refuse, as_of())
        .unwrap();
    // Another program has begun to write and has not ended.
    let other = rusqlite::Connection::open(TripLog::path_in(folder.path())).unwrap();
    other
        .execute_batch("begin immediate; insert into trips (number) values (99)")
        .unwrap();
    let copy = tempfile::tempdir().unwrap();
    let file = TripLog::path_in(copy.path());
    log.backup(&file).unwrap();
    other.execute_batch("rollback").unwrap();
    assert_eq!(
        TripLog::open(copy.path()).unwrap().trips().unwrap(),
        log.trips().unwrap()
    );
    let error = log.backup(&file).unwrap_err();
    assert!(
        matches!(error, TripError::Exists { .. }) && error.to_string().contains("name another"),
        "{error}"
    );
    let error = log.backup(&copy.path().join("no/such/folder/trips")).unwrap_err();
    assert!(matches!(error, TripError::NotBackedUp { .. }), "{error}");
}

#[test]
fn a_file_that_is_no_log_or_of_a_later_program_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let path = TripLog::path_in(folder.path());
    std::fs::write(
        &path,
        "no database, but long enough to have a header of a hundred bytes. ".repeat(20),
    )
    .unwrap();
    let error = TripLog::open(folder.path()).unwrap_err();
    assert!(
        matches!(error, TripError::NotOurs { .. }) && error.to_string().contains("no trip log"),
        "{error}"
    );
    std::fs::remove_file(&path).unwrap();
    drop(TripLog::open(folder.path()).unwrap());
    rusqlite::Connection::open(&path)
        .unwrap()
        .pragma_update(None, "user_version", 99)
        .unwrap();
    let error = TripLog::open(folder.path()).unwrap_err();
    assert!(
        matches!(error, TripError::NotOurs { .. })
            && error.to_string().contains("use the program that made it"),
        "{error}"
    );
    std::fs::remove_file(&path).unwrap();
    std::fs::create_dir(&path).unwrap();
    let error = TripLog::open(folder.path()).unwrap_err();
    assert!(
        matches!(error, TripError::Database { doing: "opening", .. }),
        "{error}"
    );
}

#[test]
fn a_full_disk_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let before = trip("2025-10-08 main 4h 2 rods blank");
    let mut log = TripLog::open(folder.path()).unwrap();
    log.add(std::slice::from_ref(&before), Twins::Refuse, as_of())
        .unwrap();
    drop(log);
    let many: Vec<_> = (0..500)
        .map(|i| {
            trip(&format!(
                "2025-10-07 sorrel {}h 2 rods blank note {i} {}",
                1 + i % 9,
                "x".repeat(400)
            ))
        })
        .collect();
    // SQLite's max_page_count gives the error of a full disk once the file would outgrow it.
    let mut log = TripLog::open_with(folder.path(), OpenOptions { most_pages: Some(40) }).unwrap();
    let error = log.add(&many, Twins::Add, as_of()).unwrap_err();
    assert!(matches!(error, TripError::Full { .. }), "{error}");
    assert!(
        error
            .to_string()
            .contains("the disk is full; nothing was changed in the log; make room"),
        "{error}"
    );
    assert_eq!(log.trips().unwrap(), [(1, before.clone())]);
    drop(log);
    let mut log = TripLog::open(folder.path()).unwrap();
    assert_eq!(log.trips().unwrap(), [(1, before)]);
    // With room again it is done as if nothing had been.
    assert_eq!(log.add(&many, Twins::Add, as_of()).unwrap().numbers.len(), 500);
}
