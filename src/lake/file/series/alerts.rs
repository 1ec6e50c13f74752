//! Where official alerts come from, and the contact that some services ask for.

use super::service::rule_named;
use crate::lake::AlertSource;
use crate::lake::file::block::{Block, quote};
use crate::lake::file::known::{Known, choose};

/// The service of official alerts; a fault where it has none.
pub(in crate::lake::file) fn read_official_alerts(
    block: &Block<'_, '_>,
    known: &Known<'_>,
) -> Option<AlertSource> {
    let text = block.text("service")?;
    let with_alerts: Vec<&str> = known
        .services
        .iter()
        .filter(|rule| rule.serves_alerts)
        .map(|rule| rule.name)
        .collect();
    if !with_alerts.contains(&text.value.as_str()) {
        let found = format!("service = {}", quote(&text.value));
        block.fault(
            &text.span,
            found,
            "a service that has official alerts",
            choose(&text.value, &with_alerts),
        );
        return None;
    }
    Some(AlertSource { service: text.value })
}

/// A fault where the file names a service that refuses requests without a contact, and gives none.
pub(in crate::lake::file) fn check_contact(root: &Block<'_, '_>, known: &Known<'_>) {
    if root.has("contact") {
        return;
    }
    let asks = known
        .named_services
        .iter()
        .filter_map(|name| rule_named(known, name))
        .find(|rule| rule.needs_contact);
    if let Some(rule) = asks {
        root.missing(
            "contact",
            &format!("since {} refuses requests that name none", rule.name),
        );
    }
}
