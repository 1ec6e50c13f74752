//! What blocks need to know of each other before they are read: ids, and the levels of the pool.

use toml::de::{DeTable, DeValue};

use super::block::{nearest, quote};
use super::fault::At;
use crate::lake::ServiceRule;

/// What is known of the whole file while a block is read.
pub(super) struct Known<'k> {
    /// Ids and kinds of zones, in the file's words.
    pub zones: Vec<(String, String)>,
    /// Ids of inflows.
    pub inflows: Vec<String>,
    /// Ids of inflows whose flow is a series.
    pub gauged: Vec<String>,
    /// Zones that inflows enter, in the file's words.
    pub enters: Vec<String>,
    /// Ids of inflows, each with the zone that it enters, in the file's words.
    pub entering: Vec<(String, String)>,
    /// Ids of ramps.
    pub ramps: Vec<String>,
    /// Ids of species.
    pub species: Vec<String>,
    /// Ids of series.
    pub series: Vec<String>,
    /// Inflows that have a series of quantity `inflow`.
    pub flow_series: Vec<String>,
    /// Inflows that have a table of the hindcast.
    pub hindcast_rivers: Vec<String>,
    /// Services that the file names, of series and of official alerts.
    pub named_services: Vec<String>,
    /// The services there are.
    pub services: &'k [ServiceRule],
    /// Full pool, metres.
    pub full_pool_m: Option<At<f64>>,
    /// Minimum pool, metres.
    pub minimum_pool_m: Option<At<f64>>,
    /// Lowest elevation of the hypsography, metres.
    pub bed_m: Option<f64>,
    /// Position of the lake, degrees.
    pub position: Option<(f64, f64)>,
}

impl<'k> Known<'k> {
    /// The ids of the file, whether or not their blocks are otherwise sound.
    pub fn of(root: &DeTable<'_>, services: &'k [ServiceRule]) -> Self {
        let ids = |block: &str| {
            tables(root, block)
                .filter_map(|t| text(t, "id"))
                .collect::<Vec<_>>()
        };
        let zones = tables(root, "zones")
            .filter_map(|t| Some((text(t, "id")?, text(t, "kind").unwrap_or_default())))
            .collect();
        let gauged = tables(root, "inflows")
            .filter(|t| text(t, "flow").as_deref() == Some("series"))
            .filter_map(|t| text(t, "id"))
            .collect();
        let flow_series = tables(root, "series")
            .filter(|t| text(t, "quantity").as_deref() == Some("inflow"))
            .filter_map(|t| text(t, "inflow"))
            .collect();
        Known {
            zones,
            inflows: ids("inflows"),
            gauged,
            enters: tables(root, "inflows")
                .filter_map(|t| text(t, "enters"))
                .collect(),
            entering: tables(root, "inflows")
                .filter_map(|t| Some((text(t, "id")?, text(t, "enters")?)))
                .collect(),
            ramps: ids("ramps"),
            species: ids("species"),
            series: ids("series"),
            flow_series,
            hindcast_rivers: match root.get("hindcast").map(|v| v.get_ref()) {
                Some(DeValue::Table(table)) => tables(table, "inflow")
                    .filter_map(|t| text(t, "inflow"))
                    .collect(),
                _ => Vec::new(),
            },
            named_services: tables(root, "series")
                .filter_map(|t| text(t, "service"))
                .chain(alert_service(root))
                .collect(),
            services,
            full_pool_m: None,
            minimum_pool_m: None,
            bed_m: None,
            position: None,
        }
    }

    /// The ids of a block that others may refer to.
    pub fn ids(&self, block: &str) -> Vec<&str> {
        match block {
            "zones" => self.zones.iter().map(|(id, _)| id.as_str()).collect(),
            "inflows" => self.inflows.iter().map(String::as_str).collect(),
            "ramps" => self.ramps.iter().map(String::as_str).collect(),
            "species" => self.species.iter().map(String::as_str).collect(),
            "series" => self.series.iter().map(String::as_str).collect(),
            _ => Vec::new(),
        }
    }

    /// The kind of zone `id`, in the file's word, empty where the file gives none.
    pub fn zone_kind(&self, id: &str) -> &str {
        self.zones
            .iter()
            .find(|(zone, _)| zone == id)
            .map_or("", |(_, kind)| kind.as_str())
    }
}

/// "take ..., or one of ..." for a word that is none of the `words`. Ids of the file stand in it with their
/// control characters escaped, so that a fault stays one line.
pub(super) fn choose(found: &str, words: &[&str]) -> String {
    match nearest(found, words.iter().copied()) {
        Some(near) => format!("did you mean {}?", quote(near)),
        None if words.is_empty() => "describe it first".to_owned(),
        None => {
            let words: Vec<String> = words.iter().map(|word| word.escape_debug().to_string()).collect();
            format!("take one of {}", words.join(", "))
        }
    }
}

/// The service of official alerts.
fn alert_service(root: &DeTable<'_>) -> Option<String> {
    match root.get("official_alerts").map(|v| v.get_ref()) {
        Some(DeValue::Table(table)) => text(table, "service"),
        _ => None,
    }
}

/// The tables of a list of tables; none where it is something else.
fn tables<'r, 'i>(root: &'r DeTable<'i>, block: &str) -> impl Iterator<Item = &'r DeTable<'i>> {
    let list = match root.get(block).map(|v| v.get_ref()) {
        Some(DeValue::Array(list)) => Some(list),
        _ => None,
    };
    list.into_iter()
        .flat_map(|list| list.iter())
        .filter_map(|value| match value.get_ref() {
            DeValue::Table(table) => Some(table),
            _ => None,
        })
}

/// Ids of the species of a file, and the byte at which each stands.
pub(super) fn species_of(root: &DeTable<'_>) -> Vec<(String, usize)> {
    tables(root, "species")
        .filter_map(|table| Some((text(table, "id")?, table.get("id")?.span().start)))
        .collect()
}

fn text(table: &DeTable<'_>, key: &str) -> Option<String> {
    match table.get(key).map(|v| v.get_ref()) {
        Some(DeValue::String(text)) => Some(text.to_string()),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_id_with_a_line_break_does_not_break_the_line_of_a_fault() {
        assert_eq!(choose("main", &["\0\n", "sorrel"]), "take one of \\0\\n, sorrel");
        assert_eq!(choose("sorre\nl", &["sorrel\n"]), "did you mean \"sorrel\\n\"?");
    }
}
