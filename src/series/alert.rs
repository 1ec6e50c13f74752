//! Official alerts as records: what a service sent, word for word, and when that was known.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

/// One alert. Times without a value are not given by the service. Texts are the service's own, word for word.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Alert {
    /// The service's identifier.
    pub id: String,
    /// Address of the alert itself.
    pub url: Option<String>,
    /// Name of the product, such as `Wind Advisory`.
    pub event: String,
    /// One line.
    pub headline: Option<String>,
    /// Its text.
    pub description: Option<String>,
    /// What to do, in the service's words.
    pub instruction: Option<String>,
    /// Areas.
    pub area: Option<String>,
    /// Who sent it.
    pub sender: Option<String>,
    /// Severity, in the service's word.
    pub severity: Option<String>,
    /// When it was sent.
    pub sent_at: DateTime<Utc>,
    /// When the event begins.
    pub onset: Option<DateTime<Utc>>,
    /// When the event ends, where an end is set.
    pub ends: Option<DateTime<Utc>>,
    /// When the message expires: a new one is due by then, the event may go on.
    pub expires: Option<DateTime<Utc>>,
}

impl Alert {
    /// Whether it speaks of any of the time from `from` to `to`. Without an end it lasts: a message that expires is
    /// renewed, and the event may go on.
    pub fn touches(&self, from: DateTime<Utc>, to: DateTime<Utc>) -> bool {
        self.begins_at() <= to && self.ends_at().is_none_or(|end| end >= from)
    }

    /// When it begins to hold: its onset, or when it was sent.
    pub fn begins_at(&self) -> DateTime<Utc> {
        self.onset.unwrap_or(self.sent_at)
    }

    /// When it ceases to hold: the end of the event, where one is set.
    pub fn ends_at(&self) -> Option<DateTime<Utc>> {
        self.ends
    }
}

/// What a service said of alerts at the lake's position, and when.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct AlertReply {
    /// Service.
    pub service: String,
    /// When it was known.
    pub known_at: DateTime<Utc>,
    /// Alerts in force or to come, in the service's order.
    pub alerts: Vec<Alert>,
    /// Alerts of the reply that could not be read.
    pub unread: usize,
}
