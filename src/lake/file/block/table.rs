//! One table of the lake file under the table of keys: finding keys, noting those that are unknown,
//! missing, doubled or out of place, and going down into blocks. `typed` reads the values.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::nearest::nearest;
use super::value::{describe, quote};
use crate::lake::file::fault::Faults;
use crate::lake::file::keys::{Key, Kind, Need, key, keys_of};

/// What a draft writes for a value that only its user can know.
pub const QUESTION: &str = "?";

/// Whether a value is an open question, whatever the key holds.
pub(in crate::lake::file) fn is_question(value: &DeValue<'_>) -> bool {
    matches!(value, DeValue::String(text) if text.trim() == QUESTION)
}

/// A table of the file, and the block of the table of keys that it follows.
pub(in crate::lake::file) struct Block<'b, 'i> {
    pub faults: &'b Faults<'b>,
    pub(in crate::lake::file) block: &'static str,
    table: &'b DeTable<'i>,
    /// Where missing keys are noted.
    pub span: Range<usize>,
    /// Known keys that an unknown key of this table was probably meant to be.
    meant: Vec<&'static str>,
}

/// A value under its key as written, and its unit: SI units in one of it, and what its 0 is in SI.
pub(in crate::lake::file) struct Found<'b, 'i> {
    pub name: String,
    pub value: &'b Spanned<DeValue<'i>>,
    pub si_per_unit: f64,
    pub si_at_zero: f64,
}

impl<'b, 'i> Block<'b, 'i> {
    /// Takes the table, and notes each key that its block does not have.
    pub fn new(
        faults: &'b Faults<'b>,
        block: &'static str,
        table: &'b DeTable<'i>,
        span: Range<usize>,
    ) -> Self {
        let names: Vec<(String, &'static str)> = keys_of(block)
            .flat_map(|k| k.names().into_iter().map(|name| (name, k.stem)))
            .collect();
        let mut meant = Vec::new();
        for (written, _) in table.iter() {
            let written_name: &str = written.get_ref();
            if names.iter().any(|(name, _)| name == written_name) {
                continue;
            }
            let free = names
                .iter()
                .map(|(name, _)| name.as_str())
                .filter(|name| !table.contains_key(*name));
            let near = nearest(written_name, free);
            let without_unit = keys_of(block).find(|k| k.stem == written_name && k.names().len() > 1);
            let mend = match (near, without_unit) {
                (_, Some(key)) => format!("write it with its unit, \"{}\"", key.names().join("\" or \"")),
                (Some(near), None) => format!("did you mean \"{near}\"?"),
                (None, None) => format!("remove it; keys here are {}", list_names(block)),
            };
            let is_meant = |&&(ref name, stem): &&(String, &'static str)| match without_unit {
                Some(key) => key.stem == stem,
                None => Some(name.as_str()) == near,
            };
            meant.extend(names.iter().filter(is_meant).map(|&(_, stem)| stem));
            let wanted = if block.is_empty() {
                "a key of a lake file".into()
            } else {
                format!("a key of {block}")
            };
            faults.add(
                written.span().start,
                format!("unknown key {}", quote(written_name)),
                wanted,
                mend,
            );
        }
        Block {
            faults,
            block,
            table,
            span,
            meant,
        }
    }

    /// Notes a fault at a value of this table.
    pub fn fault(
        &self,
        span: &Range<usize>,
        found: impl Into<String>,
        wanted: impl Into<String>,
        mend: impl Into<String>,
    ) {
        self.faults.add(span.start, found, wanted, mend);
    }

    /// Notes that the key must be there after all, because of `why`.
    pub fn missing(&self, stem: &str, why: &str) {
        let key = key(self.block, stem);
        if self.meant.contains(&key.stem) {
            return; // the unknown key that was meant to be this one has its fault already
        }
        let names = key.names();
        let name = &names[0];
        let place = if self.block.is_empty() {
            "the lake file".to_owned()
        } else {
            format!("this entry of {}", self.block)
        };
        let twin = names.get(1).map_or(String::new(), |twin| format!(" (or {twin})"));
        // A block's example is its header, which needs no key before it.
        let header = matches!(key.kind, Kind::Block(_) | Kind::Blocks(_)) && !key.example.starts_with("[{");
        let example = if header {
            format!("add {}", key.example)
        } else {
            format!("add {name} = {}", key.example)
        };
        let wanted = if why.is_empty() {
            format!("{name}{twin}")
        } else {
            format!("{name}{twin}, {why}")
        };
        self.faults.add(
            self.span.start,
            format!("{place} without {name}"),
            wanted,
            format!("{example}: {}", key.meaning),
        );
    }

    /// Whether the key stands in the table under one of its names, sound or not.
    pub fn has(&self, stem: &str) -> bool {
        let key = key(self.block, stem);
        self.meant.contains(&key.stem)
            || key
                .names()
                .iter()
                .any(|name| self.table.contains_key(name.as_str()))
    }

    /// Notes that a key stands here although it has no place here.
    pub fn refuse(&self, stem: &str, wanted: &str) {
        for name in key(self.block, stem).names() {
            if let Some((written, _)) = self.table.get_key_value(name.as_str()) {
                self.faults.add(
                    written.span().start,
                    format!("{name} here"),
                    wanted,
                    format!("remove {name}"),
                );
            }
        }
    }

    pub(in crate::lake::file) fn find(&self, stem: &str) -> Option<(&'static Key, Found<'b, 'i>)> {
        let key = key(self.block, stem);
        let (us, metric) = match key.kind {
            Kind::Measure(dimension, _) | Kind::Months(dimension, _) => {
                ((dimension.us().1, dimension.us_zero()), (1.0, 0.0))
            }
            _ => ((1.0, 0.0), (1.0, 0.0)),
        };
        let mut found = None;
        for (name, (si_per_unit, si_at_zero)) in key.names().into_iter().zip([us, metric]) {
            let Some((written, value)) = self.table.get_key_value(name.as_str()) else {
                continue;
            };
            match &found {
                None => {
                    found = Some(Found {
                        name,
                        value,
                        si_per_unit,
                        si_at_zero,
                    })
                }
                Some(first) => {
                    let mend = format!("remove {} or {name}", first.name);
                    self.faults.add(
                        written.span().start,
                        format!("both {} and {name}", first.name),
                        "one of the two",
                        mend,
                    );
                    return None;
                }
            }
        }
        if found.is_none() && key.need == Need::Always {
            self.missing(stem, "");
        }
        let found = found?;
        if is_question(found.value.get_ref()) {
            self.question(key, &found);
            return None;
        }
        Some((key, found))
    }

    /// Notes that a question of a draft is still open: the one fault of its key.
    fn question(&self, key: &Key, found: &Found<'_, '_>) {
        let remove = if key.need == Need::Optional {
            ", or remove the line"
        } else {
            ""
        };
        self.faults.add(
            found.value.span().start,
            format!("{} = \"{QUESTION}\", a question still open", found.name),
            key.meaning,
            format!(
                "answer it, for instance {} = {}{remove}",
                found.name,
                key.example_for(&found.name)
            ),
        );
    }

    pub(in crate::lake::file) fn wrong(&self, found: &Found<'_, '_>, key: &Key, wanted: &str) {
        let text = format!("{} = {}", found.name, describe(found.value.get_ref()));
        self.faults.add(
            found.value.span().start,
            text,
            wanted,
            format!(
                "write for instance {} = {}",
                found.name,
                key.example_for(&found.name)
            ),
        );
    }

    /// The value under a key as the parser gave it, for keys that take more than one form.
    pub fn raw(&self, stem: &str) -> Option<&'b Spanned<DeValue<'i>>> {
        self.find(stem).map(|(_, found)| found.value)
    }

    /// The table under a key, for a look at another block's keys; no fault is noted.
    pub fn peek(&self, stem: &str) -> Option<&'b DeTable<'i>> {
        match self.table.get(stem).map(|value| value.get_ref()) {
            Some(DeValue::Table(table)) => Some(table),
            _ => None,
        }
    }

    /// The block under a key.
    pub fn block(&self, stem: &str) -> Option<Block<'b, 'i>> {
        let (key, found) = self.find(stem)?;
        let Kind::Block(block) = key.kind else { return None };
        match found.value.get_ref() {
            DeValue::Table(table) => Some(Block::new(self.faults, block, table, found.value.span())),
            _ => {
                self.wrong(&found, key, "a table");
                None
            }
        }
    }

    /// The blocks of the list under a key; none when it is absent.
    pub fn blocks(&self, stem: &str) -> Vec<Block<'b, 'i>> {
        let Some((key, found)) = self.find(stem) else {
            return Vec::new();
        };
        let Kind::Blocks(block) = key.kind else {
            return Vec::new();
        };
        let least = usize::from(key.need == Need::Always);
        let Some(items) = self.items(key, &found, least) else {
            return Vec::new();
        };
        let mut blocks = Vec::new();
        for item in items {
            match item.get_ref() {
                DeValue::Table(table) => blocks.push(Block::new(self.faults, block, table, item.span())),
                _ => self.wrong(&found, key, "a list of tables"),
            }
        }
        blocks
    }
}

/// The names of the keys of a block, for a message.
fn list_names(block: &str) -> String {
    keys_of(block)
        .map(|k| k.names().join(" or "))
        .collect::<Vec<_>>()
        .join(", ")
}
