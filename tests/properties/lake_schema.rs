//! The JSON Schema of the lake file: that of the code, kind to sound files, and no friend of faulty ones.

use jsonschema::Validator;
use plungeline::faces::lake::render_lake_schema;
use plungeline::lake::file::keys::{Kind, Need, keys};
use rstest::rstest;
use serde_json::{Value, json};

use crate::brief::demo::run;
use crate::house::source::{document, root};

const FILE: &str = "docs/lake.schema.json";

fn schema() -> Value {
    serde_json::from_str(&render_lake_schema().expect("a schema")).expect("JSON")
}

fn validator() -> Validator {
    jsonschema::draft202012::new(&schema()).expect("a schema of the draft that it names")
}

/// A TOML file as editors see it under a JSON Schema: dates are strings.
fn as_json(value: toml::Value) -> Value {
    match value {
        toml::Value::String(text) => json!(text),
        toml::Value::Integer(number) => json!(number),
        toml::Value::Float(number) => json!(number),
        toml::Value::Boolean(flag) => json!(flag),
        toml::Value::Datetime(date) => json!(date.to_string()),
        toml::Value::Array(list) => list.into_iter().map(as_json).collect(),
        toml::Value::Table(table) => table.into_iter().map(|(k, v)| (k, as_json(v))).collect(),
    }
}

fn demo_text() -> String {
    document("config/lakes/harrow-gap.toml")
}

fn faults_of(text: &str) -> Vec<String> {
    let file: toml::Value = toml::from_str(text).expect("TOML");
    let file = as_json(file);
    validator()
        .iter_errors(&file)
        .map(|e| format!("{}: {e}", e.instance_path))
        .collect()
}

#[test]
fn the_committed_schema_is_that_of_the_code_and_the_one_that_is_printed() {
    let wanted = render_lake_schema().expect("a schema");
    if std::env::var_os("PLUNGELINE_BLESS").is_some() {
        std::fs::write(root().join(FILE), &wanted).expect("writable");
    }
    assert!(
        document(FILE) == wanted,
        "{FILE} is not that of the code; PLUNGELINE_BLESS=1 cargo test writes it anew"
    );
    let printed = run(&["lake", "schema"]);
    assert!(
        printed.stdout == wanted.as_bytes(),
        "`lake schema` prints another"
    );
}

#[test]
fn the_demonstration_lake_fits_and_names_the_schema_for_editors() {
    let text = demo_text();
    assert_eq!(faults_of(&text), Vec::<String>::new());
    let first = text.lines().next().unwrap_or_default();
    let named = first
        .strip_prefix("#:schema ")
        .expect("the line that editors look for");
    let path = root().join("config/lakes").join(named);
    assert!(path.is_file(), "{}", path.display());
}

/// One change of the demonstration lake that the reader refuses, and so must the schema.
#[rstest]
#[case::a_key_that_does_not_exist(
    "full_pool_elevation_ft = 845.0",
    "full_pool_elevation_ft = 845.0\nfull_pool_hight = 1.0"
)]
#[case::a_needed_key_that_is_not_there("vertical_datum = \"NAVD 88\"", "")]
#[case::both_twins(
    "full_pool_elevation_ft = 845.0",
    "full_pool_elevation_ft = 845.0\nfull_pool_elevation_m = 257.6"
)]
#[case::neither_twin("full_pool_elevation_ft = 845.0", "")]
#[case::a_text_for_a_number("latitude = 42.20", "latitude = \"42.20\"")]
#[case::a_number_out_of_range("latitude = 42.20", "latitude = 142.20")]
#[case::a_word_that_is_none("kind = \"main-body\"", "kind = \"main\"")]
#[case::a_quantity_that_is_none("quantity = \"pool_elevation\"", "quantity = \"pool_level\"")]
#[case::an_id_in_capitals("id = \"sorrel-bridge\"", "id = \"Sorrel Bridge\"")]
#[case::eleven_months("secchi_ft = [9.0, 7.0,", "secchi_ft = [9.0,")]
#[case::a_share_above_one("share_frac = 0.72", "share_frac = 7.2")]
#[case::a_count_of_nothing("count = 10000", "count = 0")]
#[case::a_flag_in_quotes("regulated = false", "regulated = \"false\"")]
fn a_fault_of_shape_is_refused_by_the_schema_and_by_the_reader(#[case] sound: &str, #[case] faulty: &str) {
    let text = demo_text();
    assert!(text.contains(sound), "{sound} is not in the demonstration lake");
    let text = text.replacen(sound, faulty, 1);
    assert!(!faults_of(&text).is_empty(), "the schema takes {faulty:?}");
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("faulty.toml");
    std::fs::write(&file, text).expect("writable");
    let checked = run(&["lake", "check", &file.to_string_lossy()]);
    assert_eq!(checked.status.code(), Some(2), "the reader takes {faulty:?}");
}

#[test]
fn every_key_stands_in_the_schema_with_its_meaning() {
    let schema = schema();
    for key in keys() {
        let block = if key.block.is_empty() {
            &schema
        } else {
            &schema["$defs"][key.block]
        };
        for name in key.names() {
            let property = &block["properties"][&name];
            assert_eq!(property["description"], key.meaning, "{}.{name}", key.block);
        }
        let single = key.names().len() == 1;
        if single && key.need == Need::Always {
            let required = block["required"].as_array().expect("needed keys");
            assert!(required.contains(&json!(key.stem)), "{}.{}", key.block, key.stem);
        }
        if let Kind::Block(inner) | Kind::Blocks(inner) = key.kind {
            assert!(schema["$defs"][inner].is_object(), "{inner} is not defined");
        }
    }
}
