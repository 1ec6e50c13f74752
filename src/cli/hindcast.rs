//! `plungeline hindcast`: the lake's water over past weather, against what was measured.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use super::{lakes, output};
use crate::error::{Error, Status};
use crate::faces::json::render_hindcast_json;
use crate::faces::picture::{
    HindcastPicture, Picture, PictureError, YAxis, hindcast_panel, lay_out, render_png, render_svg,
};
use crate::faces::text::hindcast::render_hindcast;
use crate::faces::text::hindcast_notes::{render_fit, render_input_notes};
use crate::hindcast::tables::{modelled_parquet, pairs_parquet};
use crate::hindcast::{Compared, Judged, judge_hindcast, load_hindcast};

/// Arguments of `hindcast`.
#[derive(Debug, Clone, Args)]
pub struct HindcastArgs {
    /// Lake file with a block [hindcast], or the name of one in the configuration folder (without .toml)
    #[arg(value_name = "FILE|NAME")]
    pub lake: String,
    /// Folder that holds the tables of the lake file; its own without it
    #[arg(long, value_name = "DIR")]
    pub tables: Option<PathBuf>,
    /// Fit a few factors of the model to the profiles, and judge each block of years by what the others taught
    #[arg(long)]
    pub fit: bool,
    /// Form of the report
    #[arg(long, value_enum, default_value_t = HindcastFormat::Text)]
    pub format: HindcastFormat,
    /// Write the report, the pairs, the modelled days and the pictures into this folder
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
}

/// Form of the report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum HindcastFormat {
    /// For people
    Text,
    /// For programs: SI and UTC
    Json,
}

/// Size of the pictures, pixels.
const WIDTH: f32 = 1200.0;
const ROW_HEIGHT: f32 = 360.0;

/// The command.
///
/// # Errors
/// A lake file with faults, tables that cannot be read, a model that cannot run, a folder that cannot be written.
pub fn run(args: &HindcastArgs) -> Result<Status, Error> {
    let file = lakes::lake_file(Some(&args.lake))?;
    let lake = lakes::read(&file)?;
    let folder = match &args.tables {
        Some(folder) => folder.clone(),
        None => file.parent().map(Path::to_owned).unwrap_or_default(),
    };
    let input = load_hindcast(lake, &folder)?;
    let judged = judge_hindcast(&input, args.fit)?;
    let json = || render_hindcast_json(&judged.hindcast.report).map_err(|source| Error::Json { source });
    let text = || {
        let mut text = render_hindcast(&judged.hindcast.report);
        if let Some(fitted) = &judged.fitted {
            text.push_str(&render_fit(fitted));
        }
        text.push_str(&render_input_notes(&input.notes, &judged.notes));
        text
    };
    if let Some(out) = &args.out {
        write_all(out, &judged, &text(), &json()?)?;
    }
    match args.format {
        HindcastFormat::Text => output::print(&text())?,
        HindcastFormat::Json => output::print(&json()?)?,
    }
    Ok(Status::Good)
}

fn write_all(out: &Path, judged: &Judged, text: &str, json: &str) -> Result<(), Error> {
    std::fs::create_dir_all(out).map_err(|source| not_written(out, source))?;
    let write = |name: &str, bytes: &[u8]| {
        let path = out.join(name);
        std::fs::write(&path, bytes).map_err(|source| not_written(&path, source))
    };
    write("report.txt", text.as_bytes())?;
    write("report.json", json.as_bytes())?;
    let pairs = &judged.hindcast.temperature_pairs.pairs;
    write("temperature-pairs.parquet", &pairs_parquet(pairs, "degC")?)?;
    write("modelled-days.parquet", &modelled_parquet(&judged.days)?)?;
    let oxygen = &judged.hindcast.oxygen_pairs.pairs;
    if !oxygen.is_empty() {
        write("oxygen-pairs.parquet", &pairs_parquet(oxygen, "mg/L")?)?;
    }
    for (compared, pairs, name) in [
        (Compared::Temperature, pairs, "temperature"),
        (Compared::Oxygen, oxygen, "oxygen"),
    ] {
        if pairs.is_empty() {
            continue;
        }
        let Some((svg, png)) = draw(judged, compared).map_err(Error::Picture)? else {
            continue;
        };
        write(&format!("{name}.svg"), svg.as_bytes())?;
        write(&format!("{name}.png"), &png)?;
    }
    Ok(())
}

fn draw(judged: &Judged, compared: Compared) -> Result<Option<(String, Vec<u8>)>, PictureError> {
    let pairs = match compared {
        Compared::Temperature => &judged.hindcast.temperature_pairs.pairs,
        Compared::Oxygen => &judged.hindcast.oxygen_pairs.pairs,
    };
    let panel = hindcast_panel(&HindcastPicture {
        days: &judged.days,
        pairs,
        compared,
        y_axis: YAxis::Depth,
        thermocline: compared == Compared::Temperature,
    });
    let Some(panel) = panel else { return Ok(None) };
    let scene = lay_out(&Picture {
        title: judged.hindcast.report.lake.clone(),
        caption:
            "field: modelled daily mean; dots: observed, on the same colours; line: modelled thermocline"
                .to_owned(),
        rows: vec![vec![panel]],
        width: WIDTH,
        row_height: ROW_HEIGHT,
    });
    Ok(Some((render_svg(&scene)?, render_png(&scene, 2.0)?)))
}

fn not_written(path: &Path, source: std::io::Error) -> Error {
    Error::NotWritten {
        path: path.to_owned(),
        source,
    }
}
