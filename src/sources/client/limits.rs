//! How much a run asks of a service in a time: what the service allows, and no more.
//!
//! A limiter (GCRA, crate `governor`) that may take a burst of b calls and gains r a second lets b + r T calls
//! through in a window of T seconds. With b = N / 2 and r = N / (2 T) no window, wherever it begins, sees more
//! than the N calls that the service allows.

use std::num::NonZeroU32;
use std::time::Duration;

use governor::clock::{Clock, DefaultClock};
use governor::middleware::NoOpMiddleware;
use governor::state::{InMemoryState, NotKeyed};
use governor::{Quota, RateLimiter};

/// So many calls in so long a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Allowance {
    /// Calls.
    pub calls: u32,
    /// Seconds.
    pub seconds: u32,
}

/// The limits of a service.
#[derive(Debug, Clone, Copy)]
pub struct RateLimit {
    /// Service, a name of the registry.
    pub service: &'static str,
    /// What it allows.
    pub allows: &'static [Allowance],
    /// As how many calls a request with these parameters counts.
    pub counts_as: fn(&[(String, String)]) -> u32,
}

type One<C> = RateLimiter<NotKeyed, InMemoryState, C, NoOpMiddleware<<C as Clock>::Instant>>;

/// The limiter of one service.
pub(super) struct Limiter<C: Clock = DefaultClock> {
    clock: C,
    parts: Vec<(One<C>, NonZeroU32, Allowance)>,
}

/// What is allowed is used up for longer than a run waits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct UsedUp {
    pub(super) allowance: Allowance,
    pub(super) wait: Duration,
}

impl<C: Clock + Clone> Limiter<C> {
    pub(super) fn new(allows: &[Allowance], clock: C) -> Self {
        let part = |allowance: &Allowance| {
            let burst = NonZeroU32::new(allowance.calls / 2).unwrap_or(NonZeroU32::MIN);
            let each = Duration::from_secs(allowance.seconds.into()) / burst.get();
            let quota = Quota::with_period(each)?.allow_burst(burst);
            Some((
                RateLimiter::direct_with_clock(quota, clock.clone()),
                burst,
                *allowance,
            ))
        };
        Limiter {
            parts: allows.iter().filter_map(part).collect(),
            clock: clock.clone(),
        }
    }

    /// Takes `calls` of part `k`, at most its burst, or says how long to wait.
    fn take(&self, k: usize, calls: NonZeroU32) -> Result<(), Duration> {
        match self.parts[k].0.check_n(calls) {
            Ok(Ok(())) => Ok(()),
            Ok(Err(not_until)) => Err(not_until.wait_time_from(self.clock.now())),
            // Never taken in more than a burst; a second is a pause and no rule.
            Err(_) => Err(Duration::from_secs(1)),
        }
    }

    /// Waits until `calls` more may be made. A request that counts for more than a burst takes several.
    pub(super) async fn ready(&self, calls: u32, longest: Duration) -> Result<(), UsedUp> {
        for (k, (_, burst, allowance)) in self.parts.iter().enumerate() {
            let mut rest = calls.max(1);
            while let Some(next) = NonZeroU32::new(rest.min(burst.get())) {
                while let Err(wait) = self.take(k, next) {
                    if wait > longest {
                        return Err(UsedUp {
                            allowance: *allowance,
                            wait,
                        });
                    }
                    tokio::time::sleep(wait).await;
                }
                rest -= next.get();
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use governor::clock::FakeRelativeClock;

    use super::*;

    /// Instants, in milliseconds, at which a client that never pauses may ask.
    fn greedy(allowance: Allowance, for_ms: u64) -> Vec<u64> {
        let clock = FakeRelativeClock::default();
        let limiter = Limiter::new(&[allowance], clock.clone());
        let mut taken = Vec::new();
        for at_ms in 0..for_ms {
            while limiter.take(0, NonZeroU32::MIN).is_ok() {
                taken.push(at_ms);
            }
            clock.advance(Duration::from_millis(1));
        }
        taken
    }

    #[test]
    fn no_minute_sees_more_calls_than_the_service_allows_and_a_long_run_gets_half_of_them() {
        // Open-Meteo allows 600 calls a minute (its documentation).
        let taken = greedy(
            Allowance {
                calls: 600,
                seconds: 60,
            },
            240_000,
        );
        let most = (0..taken.len())
            .map(|i| taken[i..].iter().take_while(|t| **t < taken[i] + 60_000).count())
            .max();
        // A burst of 300 and one every 200 ms after it: 299 before the minute is over. Never more than 600.
        assert_eq!(most, Some(599));
        // A burst of 300, then 5 a second for 240 s; the one at 240 s is no longer seen.
        assert_eq!(taken.len(), 300 + 5 * 240 - 1);
    }

    #[test]
    fn a_limit_used_up_for_longer_than_a_run_waits_is_said_and_not_sat_out() {
        let clock = FakeRelativeClock::default();
        let hour = Allowance {
            calls: 10,
            seconds: 3600,
        };
        let limiter = Limiter::new(&[hour], clock);
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_time()
            .build()
            .unwrap();
        let ask = |calls| runtime.block_on(limiter.ready(calls, Duration::from_secs(60)));
        assert_eq!(ask(5), Ok(()));
        // 5 in 3600 s: the next one is 720 s away.
        let wait = Duration::from_secs(720);
        assert_eq!(
            ask(1),
            Err(UsedUp {
                allowance: hour,
                wait
            })
        );
    }

    #[test]
    fn the_message_of_a_limit_used_up_says_what_is_allowed_and_when_to_go_on() {
        let said = crate::sources::FetchError::OverLimit {
            calls: 5000,
            seconds: 3600,
            wait_s: 701,
        }
        .to_string();
        assert!(
            said.contains("5000 calls an hour") && said.ends_with("again in 12 min"),
            "{said}"
        );
    }
}
