//! The lake file: twins mean the same lake, no bytes make it panic, each fault has a place in the text.

use std::path::Path;

use plungeline::faces::Units;
use plungeline::faces::faults::render_fault;
use plungeline::faces::lake::{render_keys, render_lake};
use plungeline::lake::file::keys::{Dimension, Kind, keys, keys_of};
use plungeline::lake::{Fault, Lake, SeriesPlace, ZoneId, ZoneKind, read_lake, read_lake_bytes};
use plungeline::quantity::Quantity;
use proptest::prelude::*;

use plungeline::sources::service_rules;

fn committed(path: &str) -> String {
    std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path))
        .expect("committed with the program")
}

fn harrow_gap() -> String {
    committed("config/lakes/harrow-gap.toml")
}

fn read(text: &str) -> Result<Lake, Vec<Fault>> {
    read_lake(text, Path::new("lake.toml"), &service_rules())
}

fn sound(text: &str) -> Lake {
    read(text).unwrap_or_else(|faults| {
        panic!(
            "{}",
            faults.iter().map(render_fault).collect::<Vec<_>>().join("\n")
        )
    })
}

/// `text` with each number under a key of the United States written under its metric twin. The factors
/// are those of NIST SP 811 (2008), appendix B, from memory; they are exact.
fn metric_twin(text: &str) -> String {
    let factors: [(Dimension, f64); 7] = [
        (Dimension::Height, 0.3048),
        (Dimension::Way, 1609.344),
        (Dimension::Lead, 0.0254),
        (Dimension::Area, 4046.8564224),
        (Dimension::Volume, 1233.48183754752),
        (Dimension::Flow, 0.028316846592),
        (Dimension::Speed, 0.44704),
    ];
    let mut out = text.to_owned();
    for key in keys() {
        let (Kind::Measure(dimension, _) | Kind::Months(dimension, _)) = key.kind else {
            continue;
        };
        let Some((_, factor)) = factors.iter().find(|(d, _)| *d == dimension) else {
            continue;
        };
        let [us, metric] = &key.names()[..] else {
            panic!("{} has twins", key.stem)
        };
        let mut changed = String::new();
        let mut rest = out.as_str();
        let mark = format!("{us} = ");
        while let Some(at) = rest.find(&mark) {
            let whole_word = !rest[..at].ends_with(|c: char| c == '_' || c.is_alphanumeric());
            let (before, after) = rest.split_at(at + mark.len());
            if !whole_word {
                changed.push_str(before);
                rest = after;
                continue;
            }
            let end = after
                .find(|c: char| !"0123456789.-,[ ".contains(c))
                .unwrap_or(after.len());
            let (numbers, tail) = after.split_at(end);
            changed.push_str(&before[..at]);
            changed.push_str(&format!("{metric} = "));
            for piece in numbers.split_inclusive([',', '[', ' ']) {
                let digits = piece.trim_end_matches([',', '[', ' ']);
                match digits.parse::<f64>() {
                    Ok(number) => {
                        changed.push_str(&format!("{:?}{}", number * factor, &piece[digits.len()..]))
                    }
                    Err(_) => changed.push_str(piece),
                }
            }
            rest = tail;
        }
        changed.push_str(rest);
        out = changed;
    }
    out
}

#[test]
fn the_metric_twin_of_each_key_gives_the_same_lake() {
    let us = harrow_gap();
    let metric = metric_twin(&us);
    let keys_in = |text: &str, end: &str| {
        text.lines()
            .filter(|l| !l.trim_start().starts_with('#'))
            .filter(|l| l.contains(&format!("{end} = ")))
            .count()
    };
    for unit in ["_ft", "_mi", "_in", "_acres", "_cfs", "_mph"] {
        assert!(keys_in(&us, unit) > 0 && keys_in(&metric, unit) == 0, "{unit}");
    }
    // Debug text shows every field; numbers may differ in the last digits, so they are compared apart.
    let (a, b) = (format!("{:?}", sound(&us)), format!("{:?}", sound(&metric)));
    let split = |text: &str| -> (String, Vec<f64>) {
        let mut words = String::new();
        let mut numbers = Vec::new();
        for token in text.split_inclusive([' ', ',', '(', ')', '[', ']', '{', '}']) {
            match token
                .trim_end_matches([' ', ',', '(', ')', '[', ']', '{', '}'])
                .parse::<f64>()
            {
                Ok(number) => numbers.push(number),
                Err(_) => words.push_str(token),
            }
        }
        (words, numbers)
    };
    let ((words_a, numbers_a), (words_b, numbers_b)) = (split(&a), split(&b));
    assert_eq!(words_a, words_b);
    assert_eq!(numbers_a.len(), numbers_b.len());
    assert!(
        numbers_a.len() > 200,
        "the lake's numbers were found: {}",
        numbers_a.len()
    );
    for (x, y) in numbers_a.iter().zip(&numbers_b) {
        // One multiplication and one decimal print apart: a few units in the last place.
        assert!((x - y).abs() <= 1e-12 * x.abs().max(1.0), "{x} and {y}");
    }
}

#[test]
fn the_demonstration_lake_is_read_as_it_is_written() {
    let lake = sound(&harrow_gap());
    assert!((lake.full_pool_elevation_m - 257.556).abs() < 1e-9); // 845 ft * 0.3048 m/ft
    assert_eq!(
        lake.arms().map(|z| z.id.as_str()).collect::<Vec<_>>(),
        ["sorrel", "wicket"]
    );
    let toes: Vec<f64> = lake
        .ramps
        .iter()
        .map(|r| (r.toe_elevation_m / 0.3048).round())
        .collect();
    assert_eq!(toes, [753.0, 785.0, 807.0, 821.0]);
    assert_eq!(lake.series.len(), 20);
    let surface = SeriesPlace::Zone(ZoneId::new("main"));
    assert_eq!(
        lake.series_of(Quantity::WaterTemp, &surface)
            .next()
            .and_then(|s| s.depth_m),
        Some(1.0)
    );
    let table = lake.hypsography.as_ref().expect("it has one");
    let volume_acre_ft = table.volume_m3(lake.full_pool_elevation_m).expect("inside") / 1233.48183754752;
    assert!((volume_acre_ft - 413_322.0).abs() < 0.5, "{volume_acre_ft}"); // trapezoid sum by another program
}

#[test]
fn zones_add_up_to_the_lake_at_every_pool_and_never_shrink_as_it_rises() {
    let lake = sound(&harrow_gap());
    let table = lake.hypsography.as_ref().expect("it has one");
    let mut before = vec![0.0; lake.zones.len()];
    for step in 0..=442 {
        let elevation_m = (631.0 + 0.5 * f64::from(step)).min(852.0) * 0.3048;
        let water = || lake.zones.iter().filter(|z| z.kind != ZoneKind::River);
        let area_m2: f64 = water()
            .map(|z| lake.zone_area_m2(z, elevation_m).expect("inside"))
            .sum();
        let volume_m3: f64 = water()
            .map(|z| lake.zone_volume_m3(z, elevation_m).expect("inside"))
            .sum();
        let (lake_m2, lake_m3) = (
            table.area_m2(elevation_m).unwrap(),
            table.volume_m3(elevation_m).unwrap(),
        );
        assert!(
            (area_m2 - lake_m2).abs() <= 1e-9 * lake_m2 + 1e-6,
            "area at {elevation_m}: {area_m2}, {lake_m2}"
        );
        assert!(
            (volume_m3 - lake_m3).abs() <= 1e-9 * lake_m3 + 1e-6,
            "volume at {elevation_m}"
        );
        for (zone, before) in water().zip(&mut before) {
            let area_m2 = lake.zone_area_m2(zone, elevation_m).expect("inside");
            assert!(area_m2 >= *before - 1e-6, "{} shrinks at {elevation_m}", zone.id);
            *before = area_m2;
        }
    }
}

#[test]
fn the_wicket_arm_closes_on_the_way_down_and_the_sorrel_arm_never() {
    let lake = sound(&harrow_gap());
    let closed = |id: &str, elevation_ft: f64| {
        lake.is_closed_at(
            lake.zone(&ZoneId::new(id)).expect("it is there"),
            elevation_ft * 0.3048,
        )
    };
    // Its mouth lies at 768 ft; 2 m over it are 774.56 ft, and from there its volume decides.
    assert_eq!(closed("wicket", 774.0), Some(true));
    assert_eq!(closed("wicket", 790.0), Some(false));
    assert_eq!(closed("wicket", 731.0), Some(true));
    assert_eq!(closed("sorrel", 731.0), Some(false));
    assert_eq!(closed("main", 731.0), Some(false));
}

#[test]
fn every_key_stands_in_an_invented_lake_and_is_explained_there() {
    // A lake is not described twice: its past stands in the file of another, invented lake.
    let text = harrow_gap() + &committed("fixtures/hindcast/quill-tarn.toml");
    for key in keys()
        .iter()
        .filter(|key| !key.block.is_empty() || !matches!(key.kind, Kind::Blocks(_)))
    {
        let names = key.names();
        let named = |line: &&str| {
            names.iter().any(|name| {
                line.split(|c: char| !(c.is_alphanumeric() || c == '_'))
                    .any(|word| word == name)
            })
        };
        let explained = text.lines().filter(named).any(|line| line.contains('#'))
            || text
                .lines()
                .zip(text.lines().skip(1))
                .any(|(above, line)| named(&line) && above.contains('#'));
        assert!(
            explained,
            "no comment on {} of {:?}",
            names.join(" or "),
            key.block
        );
    }
}

#[test]
fn the_documentation_holds_the_table_of_keys_of_each_block() {
    let text = committed("docs/lake-file.md");
    let mut blocks: Vec<&str> = keys().iter().map(|key| key.block).collect();
    blocks.dedup();
    assert_eq!(blocks.len(), 40);
    for block in blocks {
        assert!(keys_of(block).count() > 0);
        let table = render_keys(block);
        assert!(
            text.contains(&table),
            "docs/lake-file.md lacks this table of {block:?}:\n{table}"
        );
    }
}

#[test]
fn each_lake_of_the_documentation_is_without_fault() {
    let text = committed("docs/lake-file.md");
    let lakes: Vec<&str> = text
        .split("```toml\n")
        .skip(1)
        .filter_map(|rest| rest.split("```").next())
        .collect();
    let whole: Vec<_> = lakes.iter().filter(|lake| lake.contains("time_zone")).collect();
    assert!(!whole.is_empty());
    for lake in whole {
        sound(lake);
    }
}

#[test]
fn the_lake_is_shown_in_the_readers_units_within_eighty_columns() {
    let lake = sound(&harrow_gap());
    let (us, metric) = (render_lake(&lake, Units::Us), render_lake(&lake, Units::Metric));
    assert!(
        us.contains("toe 753.00 ft") && metric.contains("toe 229.51 m"),
        "{us}"
    ); // 753 * 0.3048
    assert!(us.contains("413,322 acre-ft") && metric.contains("509.8 million m³"));
    assert!(us.contains("closed at this pool"));
    for (text, foreign) in [(&us, " m;"), (&metric, " ft;")] {
        assert!(!text.contains(foreign), "{foreign}");
        for line in text.lines() {
            assert!(
                line.chars().count() <= 80,
                "{} columns: {line}",
                line.chars().count()
            );
        }
        for name in lake
            .ramps
            .iter()
            .map(|r| &r.name)
            .chain(lake.zones.iter().map(|z| &z.name))
        {
            assert!(text.contains(name.as_str()), "{name}");
        }
        for series in &lake.series {
            assert!(
                text.contains(series.id.as_str()) && text.contains(&series.parameter),
                "{}",
                series.id
            );
        }
    }
}

/// Every fault has a place in the text, and is one line.
fn assert_placed(text: &str, faults: &[Fault]) {
    assert!(!faults.is_empty());
    for fault in faults {
        assert!(
            fault.line >= 1 && fault.column >= 1 && fault.line <= text.split('\n').count(),
            "{fault:?}"
        );
        let line = text.split('\n').nth(fault.line - 1).unwrap();
        assert!(fault.column <= line.chars().count() + 1, "{fault:?} in {line:?}");
        assert!(!render_fault(fault).contains('\n'), "{fault:?}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn no_text_makes_the_reader_panic(text in "\\PC*") {
        if let Err(faults) = read(&text) {
            assert_placed(&text, &faults);
        }
    }

    #[test]
    fn no_bytes_make_the_reader_panic(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
        let _ = read_lake_bytes(&bytes, Path::new("lake.toml"), &service_rules());
    }

    #[test]
    fn no_change_of_a_sound_file_makes_the_reader_panic(
        at in 0.0..1.0f64, length in 0usize..40, put in "[-\\[\\]{}=\"',.#a-z0-9_\n ]{0,12}|inf|nan|1e999|true|[\\PC]{0,4}",
    ) {
        let mut text = harrow_gap();
        let mut from = (at * text.len() as f64) as usize;
        while !text.is_char_boundary(from) { from += 1; }
        let mut to = (from + length).min(text.len());
        while !text.is_char_boundary(to) { to += 1; }
        text.replace_range(from..to, &put);
        if let Err(faults) = read(&text) {
            assert_placed(&text, &faults);
        }
    }

    #[test]
    fn any_value_under_any_key_is_read_or_is_a_fault(
        pick in 0.0..1.0f64,
        value in prop_oneof![
            Just("[]"), Just("{}"), Just("[{}]"), Just("[[]]"), Just("\"\""), Just("-1"), Just("0"), Just("1e300"),
            Just("nan"), Just("-inf"), Just("true"), Just("2024-02-30"), Just("2024-02-29"), Just("0000-01-01"),
            Just("07:30:00"), Just("0xFFFFFFFFFFFFFFFF"), Just("99999999999999999999"), Just("\"\\u0000\\n\""), Just("[1, \"a\", {}]"),
        ],
    ) {
        let text = harrow_gap();
        let lines: Vec<&str> = text.lines().collect();
        let keyed: Vec<usize> = (0..lines.len()).filter(|&i| {
            lines[i].split_once(" = ").is_some_and(|(key, _)| key.chars().all(|c| c.is_alphanumeric() || c == '_'))
                && !lines[i].contains("= [ ") && !lines[i].trim_end().ends_with('[')
        }).collect();
        let chosen = keyed[(pick * keyed.len() as f64) as usize];
        let (key, _) = lines[chosen].split_once(" = ").unwrap();
        let changed = format!("{key} = {value}");
        let text = lines.iter().enumerate().map(|(i, l)| if i == chosen { changed.as_str() } else { l }).collect::<Vec<_>>().join("\n");
        if let Err(faults) = read(&text) {
            assert_placed(&text, &faults);
        }
    }
}
