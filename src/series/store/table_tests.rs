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
