//! Official alerts of the trip: those in force by what was known, or why that is not known. They are quoted,
//! never judged or reworded.

use chrono::{DateTime, Duration, Utc};
use serde::{Deserialize, Serialize};

use crate::conditions::{AFTER_TRIP_H, trip_window};
use crate::lake::Lake;
use crate::series::{Alert, AlertReply, Consequence, Gap, GapReason};

/// Age past which a reply says nothing of what is in force (project choice): new products are issued several
/// times a day, a warning of a storm minutes before it.
const ALLOWED_AGE_H: f64 = 6.0;

/// Official alerts that speak of the trip and two hours after it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct OfficialAlerts {
    /// Why it is not known what is in force; `None` where it is known. An empty list beside a reason does
    /// not mean that there are none.
    pub not_known: Option<AlertsNotKnown>,
    /// Service that was asked.
    pub service: Option<String>,
    /// When the reply behind the list was known.
    pub known_at: Option<DateTime<Utc>>,
    /// Beginning of the time that the list is about.
    pub from: DateTime<Utc>,
    /// Its end.
    pub to: DateTime<Utc>,
    /// Alerts that touch it, in the service's order and words; of a late reply too, since one that was in
    /// force until then may still be.
    pub list: Vec<Alert>,
}

/// Why it is not known which alerts are in force.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum AlertsNotKnown {
    /// The lake file names no service of alerts.
    NotDescribed,
    /// No reply is in the store.
    NotFetched,
    /// The newest reply is too old.
    Late {
        /// Its age.
        age_h: f64,
        /// Age that would still do.
        allowed_h: f64,
    },
    /// The reply held alerts that could not be read.
    Unread {
        /// How many.
        count: usize,
    },
}

impl OfficialAlerts {
    /// The gap that a missing or late reply leaves. A service that the lake file does not name, and alerts that could
    /// not be read, are said of the alerts alone.
    pub fn gap(&self) -> Option<Gap> {
        let reason = match (&self.not_known, self.known_at) {
            (Some(AlertsNotKnown::NotFetched), _) => GapReason::NoData,
            (Some(AlertsNotKnown::Late { age_h, allowed_h }), Some(newest)) => GapReason::Late {
                newest,
                age_h: *age_h,
                allowed_h: *allowed_h,
            },
            _ => return None,
        };
        Some(Gap {
            what: "official_alerts".to_owned(),
            reason,
            consequence: Consequence::LeftOut {
                figure: "what is in force now".to_owned(),
            },
        })
    }
}

/// The alerts of the trip of a brief at `as_of`, from the newest reply known then.
///
/// Expired alerts do not touch the trip; cancelled ones and tests are not in the reply as it is read. A
/// reply of another service than the lake file names now counts as none.
pub fn official_alerts(lake: &Lake, reply: Option<&AlertReply>, as_of: DateTime<Utc>) -> OfficialAlerts {
    let trip = trip_window(lake, as_of);
    let (from, to) = (trip.from, trip.to + Duration::hours(AFTER_TRIP_H));
    let service = lake.official_alerts.as_ref().map(|source| source.service.clone());
    let reply = reply.filter(|reply| Some(&reply.service) == service.as_ref());
    let not_known = match (&service, reply) {
        (None, _) => Some(AlertsNotKnown::NotDescribed),
        (Some(_), None) => Some(AlertsNotKnown::NotFetched),
        (Some(_), Some(reply)) => {
            let age_h = (as_of - reply.known_at).num_seconds() as f64 / 3600.0;
            if age_h > ALLOWED_AGE_H {
                Some(AlertsNotKnown::Late {
                    age_h,
                    allowed_h: ALLOWED_AGE_H,
                })
            } else {
                (reply.unread > 0).then_some(AlertsNotKnown::Unread { count: reply.unread })
            }
        }
    };
    // Of an old reply nobody vouches for what has no end: there the message's own time counts.
    let is_late = matches!(not_known, Some(AlertsNotKnown::Late { .. }));
    let is_over = |a: &Alert| is_late && a.ends.is_none() && a.expires.is_some_and(|at| at < from);
    OfficialAlerts {
        not_known,
        service,
        known_at: reply.map(|reply| reply.known_at),
        from,
        to,
        list: reply
            .map(|reply| {
                reply
                    .alerts
                    .iter()
                    .filter(|a| a.touches(from, to) && !is_over(a))
                    .cloned()
                    .collect()
            })
            .unwrap_or_default(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lake::AlertSource;
    use crate::plan::cautions::morning_tests::{Morning, alert};

    fn at_hours(as_of: DateTime<Utc>, hours: i64) -> DateTime<Utc> {
        as_of + Duration::hours(hours)
    }

    fn lake_with_alerts() -> Lake {
        Lake {
            official_alerts: Some(AlertSource {
                service: "nws".to_owned(),
            }),
            ..Morning::calm().lake
        }
    }

    fn reply(known_at: DateTime<Utc>, alerts: Vec<Alert>) -> AlertReply {
        AlertReply {
            service: "nws".to_owned(),
            known_at,
            alerts,
            unread: 0,
        }
    }

    #[test]
    fn a_reply_within_six_hours_is_known_and_an_older_one_is_not_but_still_lists_what_it_held() {
        let (lake, as_of) = (lake_with_alerts(), Morning::calm().as_of);
        let held = |age_h: i64| {
            reply(
                at_hours(as_of, -age_h),
                vec![alert("Lake Wind Advisory", as_of, Some(3))],
            )
        };
        let known = official_alerts(&lake, Some(&held(6)), as_of);
        assert_eq!((&known.not_known, known.list.len()), (&None, 1));
        let late = official_alerts(&lake, Some(&held(7)), as_of);
        assert_eq!(
            late.not_known,
            Some(AlertsNotKnown::Late {
                age_h: 7.0,
                allowed_h: 6.0
            })
        );
        assert_eq!(late.list.len(), 1);
        assert_eq!(known.gap(), None);
        let gap = late.gap().unwrap();
        assert!(matches!(gap.reason, GapReason::Late { newest, .. } if newest == at_hours(as_of, -7)));
    }

    #[test]
    fn without_a_service_a_reply_or_a_whole_reply_nothing_is_known() {
        let (lake, as_of) = (lake_with_alerts(), Morning::calm().as_of);
        let whole = reply(as_of, Vec::new());
        let reason = |lake: &Lake, reply: Option<&AlertReply>| official_alerts(lake, reply, as_of).not_known;
        assert_eq!(
            reason(&Morning::calm().lake, Some(&whole)),
            Some(AlertsNotKnown::NotDescribed)
        );
        assert_eq!(reason(&lake, None), Some(AlertsNotKnown::NotFetched));
        let other = AlertReply {
            service: "other".to_owned(),
            ..whole.clone()
        };
        assert_eq!(reason(&lake, Some(&other)), Some(AlertsNotKnown::NotFetched));
        let partly = AlertReply {
            unread: 2,
            ..whole.clone()
        };
        assert_eq!(
            reason(&lake, Some(&partly)),
            Some(AlertsNotKnown::Unread { count: 2 })
        );
        assert_eq!(reason(&lake, Some(&whole)), None);
    }

    #[test]
    fn alerts_that_are_over_or_begin_two_hours_after_the_trip_are_not_among_them() {
        let (lake, as_of) = (lake_with_alerts(), Morning::calm().as_of);
        // The trip begins at `as_of`, which is after civil dawn less an hour, and lasts 6 h; 2 h more count.
        let listed = |begins_h: i64, ends_h: Option<i64>| {
            let one = alert(
                "Wind Advisory",
                at_hours(as_of, begins_h),
                ends_h.map(|h| h - begins_h),
            );
            !official_alerts(&lake, Some(&reply(as_of, vec![one])), as_of)
                .list
                .is_empty()
        };
        assert!(listed(-9, Some(1)));
        assert!(listed(-9, None));
        assert!(listed(8, Some(12)));
        assert!(!listed(9, Some(12)));
        assert!(!listed(-9, Some(-1)));
    }
}
