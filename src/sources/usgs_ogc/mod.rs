//! Stub.
use super::registry::{Service, StationNeed, no_station_jobs};
use super::saved::Saved;
/// The service.
pub const SERVICE: Service = Service {
    name: "usgs-ogc",
    what: "",
    station: StationNeed::Position,
    key: None,
    cadences: &[],
    jobs: |_, _| Vec::new(),
    station_jobs: no_station_jobs,
    run: |_, _, _| Box::pin(async { Ok(Vec::new()) }),
    recognises: |_| false,
    read_saved: |_| {
        Ok(Saved {
            service: "usgs-ogc",
            kind: String::new(),
            records: vec![],
            faults: vec![],
        })
    },
};
