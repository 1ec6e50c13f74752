//! One table of the store: there and back, cut anywhere, altered anywhere.

use super::*;

/// Rows with everything that a row can have.
pub(in crate::series::store) fn rows() -> Vec<Observation> {
    let provenance = |retrieved_s: i64| {
        Arc::new(Provenance {
            service: "usgs-ogc".to_owned(),
            station: "USGS-990000010".to_owned(),
            parameter: "00010".to_owned(),
            original_unit: "deg C".to_owned(),
            retrieved_at: DateTime::from_timestamp(retrieved_s, 0).unwrap(),
        })
    };
    let row = |hour: i64, depth_m, value: Option<f64>, flag, retrieved_s| Observation {
        time: DateTime::from_timestamp(1_760_000_000 + 3600 * hour, 0).unwrap(),
        depth_m,
        value,
        original_value: value,
        approval: Approval::Provisional,
        qualifier: value.is_none().then(|| "Eqp".to_owned()),
        flag,
        provenance: provenance(retrieved_s),
    };
    vec![
        row(0, None, Some(14.25), Flag::Pass, 10),
        row(0, Some(3.0), Some(-0.0), Flag::Suspect, 10),
        row(1, Some(0.5), None, Flag::Missing, 20),
        row(2, None, Some(13.5), Flag::NotEvaluated, 10),
    ]
}

#[test]
fn reading_what_was_written_gives_it_back() {
    let rows = rows();
    assert_eq!(decode(&encode(&rows).unwrap()).unwrap(), rows);
    assert_eq!(decode(&encode(&[]).unwrap()).unwrap(), []);
}

#[test]
fn the_newest_value_is_not_the_newest_row() {
    let mut rows = rows();
    rows.pop();
    assert_eq!(
        newest_with_value(&encode(&rows).unwrap()).unwrap(),
        Some(rows[1].time)
    );
}

#[test]
fn every_shortened_file_is_refused() {
    let bytes = encode(&rows()).unwrap();
    for length in 0..bytes.len() {
        assert!(
            decode(&bytes[..length]).is_err(),
            "cut to {length} of {} bytes",
            bytes.len()
        );
    }
}

#[test]
fn every_single_altered_byte_is_noticed() {
    let bytes = encode(&rows()).unwrap();
    for at in 0..bytes.len() {
        let mut altered = bytes.clone();
        altered[at] ^= 0x10;
        assert!(decode(&altered).is_err(), "byte {at} of {} altered", bytes.len());
    }
}

#[test]
fn the_seal_does_not_keep_another_reader_out() {
    use polars::prelude::*;
    use polars_io::SerReader;
    let bytes = encode(&rows()).unwrap();
    let frame = polars_io::parquet::read::ParquetReader::new(std::io::Cursor::new(bytes))
        .finish()
        .unwrap();
    assert_eq!(frame.height(), 4);
    assert_eq!(frame.column("value").unwrap().f64().unwrap().get(0), Some(14.25));
    assert_eq!(
        frame.column("time").unwrap().dtype(),
        &DataType::Datetime(TimeUnit::Microseconds, Some(polars::prelude::TimeZone::UTC))
    );
}

/// The file of one row, as [`encode`] makes it but for what `change` does to its columns and notes.
fn other_file(change: impl FnOnce(&mut Vec<polars::prelude::Column>, &mut String)) -> Vec<u8> {
    let row = &rows()[..1];
    let mut notes = serde_json::to_string(&origins(row).1).unwrap();
    let mut columns = vec![
        time_column("time", row.iter().map(|r| r.time)),
        number_column("value", row.iter().map(|r| r.value)),
        number_column("original_value", row.iter().map(|r| r.original_value)),
        code_column("flag", [1].into_iter()),
        code_column("origin", [0].into_iter()),
    ];
    change(&mut columns, &mut notes);
    file_bytes(1, columns, vec![(ORIGINS, notes)]).unwrap()
}

fn fault(bytes: &[u8]) -> Damage {
    decode(bytes).unwrap_err()
}

#[test]
fn a_file_cut_or_altered_is_told_from_one_that_was_never_sealed() {
    let bytes = encode(&rows()).unwrap();
    assert!(matches!(fault(b"PAR"), Damage::TooShort { found: 3 }));
    assert!(matches!(fault(&bytes[..bytes.len() - 1]), Damage::NoEndMark));
    let mut altered = bytes;
    altered[20] ^= 1;
    assert!(matches!(fault(&altered), Damage::BrokenSeal));

    // A table of another program.
    let mut frame =
        polars::prelude::DataFrame::new(1, vec![number_column("value", [Some(1.0)].into_iter())]).unwrap();
    let mut foreign = Vec::new();
    polars_io::parquet::write::ParquetWriter::new(&mut foreign)
        .finish(&mut frame)
        .unwrap();
    assert!(matches!(fault(&foreign), Damage::NoSeal));
}

#[test]
fn a_whole_and_sealed_file_that_is_no_table_of_ours_is_refused() {
    assert_eq!(
        decode(&other_file(|_, _| ())).unwrap().len(),
        1,
        "unchanged, it is one"
    );

    let rubbish = crate::series::store::seal::sealed(b"PAR1 no columns, no footer\x06\0\0\0PAR1".to_vec());
    assert!(matches!(fault(&rubbish.unwrap()), Damage::Parquet { .. }));

    let without_value = other_file(|columns, _| drop(columns.remove(1)));
    assert!(matches!(fault(&without_value), Damage::Lacks { what: "value" }));
    let whole_number_as_value = other_file(|columns, _| columns[1] = code_column("value", [1].into_iter()));
    assert!(matches!(
        fault(&whole_number_as_value),
        Damage::Lacks { what: "value" }
    ));

    let cut_notes = other_file(|_, notes| notes.truncate(9));
    assert!(matches!(fault(&cut_notes), Damage::Notes(_)));

    for (at, column, code) in [(3, "flag", 99), (4, "origin", 1), (4, "origin", -1)] {
        let bytes = other_file(|columns, _| columns[at] = code_column(column, [code].into_iter()));
        let damage = fault(&bytes);
        assert!(
            matches!(damage, Damage::Row { row: 0, what } if what == column),
            "{column} {code}: {damage}"
        );
    }
}
