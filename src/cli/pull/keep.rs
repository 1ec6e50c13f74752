//! What came of finished series, into the store: merged and synced, then noted in the ledger, and only then told.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};

use crate::error::Error;
use crate::lake::Cadence;
use crate::series::{Batch, ForecastBatch, SeriesKey, Store};
use crate::sources::Fetched;

/// Values of a series.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Count {
    /// New ones.
    pub added: usize,
    /// Those that took the place of others.
    pub revised: usize,
}

/// Parts of finished series, of each in the order of its requests.
pub struct Finished {
    /// Series, whether a request for it failed, and what the others brought.
    pub series: Vec<(SeriesKey, bool, Vec<Fetched>)>,
    /// From where on each series was asked for.
    pub asked: BTreeMap<SeriesKey, DateTime<Utc>>,
    /// Clock of the run.
    pub as_of: DateTime<Utc>,
}

/// Keeps them; what changed, by series. When this comes back, a loss of power takes none of it away.
pub fn keep(mut store: Store, finished: Finished) -> Result<Vec<(SeriesKey, Count)>, Error> {
    let mut counts = Vec::new();
    let mut done: Vec<(SeriesKey, DateTime<Utc>)> = Vec::new();
    for (key, failed, parts) in finished.series {
        let (mut batches, mut forecasts, mut stand_ins) = (Vec::<Batch>::new(), Vec::new(), Vec::new());
        for part in parts {
            match part {
                Fetched::Observations(batch) => batches.push(batch),
                Fetched::Forecast(forecast) => forecasts.push(forecast),
                Fetched::StandInForecast(forecast) => stand_ins.push(forecast),
                _ => {}
            }
        }
        if forecasts.is_empty() {
            forecasts.append(&mut stand_ins);
        }
        let mut count = Count::default();
        let merged = store.merge_all(&batches)?;
        count.added += merged.added;
        count.revised += merged.replaced;
        let issued = store.merge_forecasts(&forecasts as &[ForecastBatch])?;
        count.added += issued.added;
        count.revised += issued.replaced;
        // A series of which one part failed is asked for whole again next time.
        if let Some(from) = finished.asked.get(&key)
            && (!failed || key.cadence == Cadence::Forecast)
        {
            done.push((key.clone(), *from));
        }
        counts.push((key, count));
    }
    store.record_pulls(&done, finished.as_of)?;
    Ok(counts)
}
