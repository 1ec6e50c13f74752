//! How long the client waits, and how often it tries again.

use std::time::{Duration, SystemTime};

use backon::{BackoffBuilder, ExponentialBuilder};

/// Timeouts and retries. The defaults are common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Patience {
    /// Time to connect.
    pub connect: Duration,
    /// Time of one try, from request to last byte.
    pub total: Duration,
    /// Tries in all, the first among them.
    pub tries: usize,
    /// Tries in all where no connection comes about: a network that is down stays so for longer than a pause.
    pub connect_tries: usize,
    /// Pause before the second try; doubles each time, with up to as much again by chance.
    pub first_pause: Duration,
    /// Longest pause of its own accord.
    pub longest_pause: Duration,
    /// Longest pause that a service may ask for; beyond it the fetch is given up.
    pub retry_after_cap: Duration,
}

impl Default for Patience {
    fn default() -> Self {
        Patience {
            connect: Duration::from_secs(10),
            total: Duration::from_secs(60),
            tries: 4,
            connect_tries: 2,
            first_pause: Duration::from_millis(500),
            longest_pause: Duration::from_secs(20),
            retry_after_cap: Duration::from_secs(60),
        }
    }
}

impl Patience {
    /// The pauses between tries, one fewer than tries.
    pub(super) fn pauses(&self) -> impl Iterator<Item = Duration> + Send + use<> {
        ExponentialBuilder::default()
            .with_min_delay(self.first_pause)
            .with_max_delay(self.longest_pause)
            .with_max_times(self.tries.saturating_sub(1))
            .with_factor(2.0)
            .with_jitter()
            .build()
    }
}

/// The pause that a `Retry-After` header asks for: seconds, or a date (RFC 9110, section 10.2.3).
/// `None` for a text that is neither. A date in the past asks for none.
pub(super) fn retry_after(text: &str, now: SystemTime) -> Option<Duration> {
    let text = text.trim();
    if let Ok(seconds) = text.parse::<u64>() {
        return Some(Duration::from_secs(seconds));
    }
    let date = httpdate::parse_http_date(text).ok()?;
    Some(date.duration_since(now).unwrap_or(Duration::ZERO))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn retry_after_is_seconds_or_a_date() {
        // RFC 9110, section 5.6.7: the example date is 784111777 s after the epoch.
        let now = SystemTime::UNIX_EPOCH + Duration::from_secs(784_111_777 - 30);
        assert_eq!(retry_after("120", now), Some(Duration::from_secs(120)));
        assert_eq!(
            retry_after("Sun, 06 Nov 1994 08:49:37 GMT", now),
            Some(Duration::from_secs(30))
        );
        assert_eq!(
            retry_after("Sun, 06 Nov 1994 08:49:37 GMT", now + Duration::from_secs(90)),
            Some(Duration::ZERO)
        );
        assert_eq!(retry_after("soon", now), None);
        assert_eq!(retry_after("-3", now), None);
    }

    #[test]
    fn pauses_grow_and_stay_under_their_bound() {
        let patience = Patience {
            tries: 6,
            first_pause: Duration::from_millis(100),
            longest_pause: Duration::from_millis(800),
            ..Patience::default()
        };
        let pauses: Vec<Duration> = patience.pauses().collect();
        assert_eq!(pauses.len(), 5);
        for (k, pause) in pauses.iter().enumerate() {
            let own = Duration::from_millis((100 << k).min(800));
            // Jitter adds between nothing and the smallest pause again.
            assert!(*pause >= own && *pause <= own * 2, "{k}: {pause:?}");
        }
    }
}
