//! Pictures of an invented lake: what other readers of SVG and PNG find in them. With `PLUNGELINE_PICTURES` set to a
//! folder they are left there, to be looked at.

use chrono::NaiveDate;
use plungeline::faces::picture::{
    Axis, AxisKind, ColourScale, FieldColumn, FieldPanel, HindcastPicture, Palette, Picture, YAxis,
    hindcast_panel, lay_out, render_png, render_svg,
};
use plungeline::hindcast::{Compared, ModelledDay, Pair};

use super::invented::{days, pairs};

fn left_to_be_seen(name: &str, bytes: &[u8]) {
    if let Some(folder) = std::env::var_os("PLUNGELINE_PICTURES") {
        std::fs::write(std::path::Path::new(&folder).join(name), bytes).unwrap();
    }
}

fn picture(y_axis: YAxis, days: &[ModelledDay], pairs: &[Pair]) -> Picture {
    let panel = hindcast_panel(&HindcastPicture {
        days,
        pairs,
        compared: Compared::Temperature,
        y_axis,
        thermocline: true,
    })
    .unwrap();
    Picture {
        title: "Invented lake, modelled; dots observed".to_owned(),
        caption: "Dots: observed, on the same colours. Line: modelled thermocline. Blue above: modelled ice."
            .to_owned(),
        rows: vec![vec![panel]],
        width: 1000.0,
        row_height: 380.0,
    }
}

#[test]
fn a_hindcast_is_drawn_as_svg_and_as_png() {
    let (days, pairs) = (days(2018, 2), pairs());
    for (name, y_axis) in [("depth", YAxis::Depth), ("elevation", YAxis::Elevation)] {
        let scene = lay_out(&picture(y_axis, &days, &pairs));
        let svg = render_svg(&scene).unwrap();
        left_to_be_seen(&format!("{name}.svg"), svg.as_bytes());
        let read = roxmltree::Document::parse(&svg).unwrap();
        let circles = read.descendants().filter(|n| n.has_tag_name("circle")).count();
        assert_eq!(circles, pairs.len(), "a dot each");
        for words in ["water temperature, °C", "2019", "Jul"] {
            assert!(svg.contains(&format!(">{words}</text>")), "{words}");
        }
        let bytes = render_png(&scene, 2.0).unwrap();
        left_to_be_seen(&format!("{name}.png"), &bytes);
        let mut png = png::Decoder::new(std::io::Cursor::new(&bytes))
            .read_info()
            .unwrap();
        let mut pixels = vec![0; png.output_buffer_size().unwrap()];
        let info = png.next_frame(&mut pixels).unwrap();
        assert_eq!((info.width, info.height), (2000, 868));
        println!(
            "{name}: svg {} kB, png {} kB",
            svg.len() / 1024,
            bytes.len() / 1024
        );
    }
}

#[test]
fn thirty_years_are_drawn_too() {
    let scene = lay_out(&picture(YAxis::Depth, &days(1985, 30), &[]));
    let bytes = render_png(&scene, 1.0).unwrap();
    left_to_be_seen("thirty.png", &bytes);
    assert!(render_svg(&scene).unwrap().contains(">1990</text>"));
}

/// A reach of a river that plunges into the main body: distance along, elevation up.
fn along(label: &str, palette: Palette, ends: (f64, f64), of: impl Fn(f64, f64) -> f64) -> Vec<FieldPanel> {
    let panel = |title: &str, from: f64, to: f64, width_share| {
        let columns: Vec<FieldColumn> = (0..20)
            .map(|i| {
                let step = (to - from) / 20.0;
                let x = from + step * f64::from(i);
                let bed = (500.0 - 3.0 * x).max(440.0);
                let y: Vec<f64> = (0..=10)
                    .map(|k| bed + (512.0 - bed) * f64::from(k) / 10.0)
                    .collect();
                FieldColumn {
                    from: x,
                    to: x + step,
                    top: 512.0,
                    bed,
                    value: y.iter().map(|y| of(x, *y)).collect(),
                    y,
                }
            })
            .collect();
        FieldPanel {
            title: title.to_owned(),
            columns,
            dots: Vec::new(),
            lines: Vec::new(),
            ice: Vec::new(),
            scale: ColourScale {
                palette,
                label: label.to_owned(),
                from: ends.0,
                to: ends.1,
            },
            x_axis: Axis {
                label: "km".to_owned(),
                kind: AxisKind::Number,
                from,
                to,
            },
            y_axis: Axis {
                label: "elevation, m".to_owned(),
                kind: AxisKind::Number,
                from: 515.0,
                to: 436.0,
            },
            width_share,
        }
    };
    vec![
        panel("north arm", 0.0, 18.0, 1.0),
        panel("main body", 18.0, 40.0, 1.2),
    ]
}

#[test]
fn panels_stand_side_by_side_in_rows() {
    let depth = |y: f64| 512.0 - y;
    let picture = Picture {
        title: "Invented reservoir, 1 July 2020".to_owned(),
        caption: String::new(),
        rows: vec![
            along("temperature, °C", Palette::Viridis, (6.0, 23.0), |x, y| {
                6.0 + 16.0 * (-depth(y) / 12.0).exp() + 0.02 * x
            }),
            along("oxygen, mg/L", Palette::Cividis, (3.0, 9.0), |x, y| {
                9.0 - 0.08 * depth(y) + 0.001 * x
            }),
            along("river share", Palette::Plasma, (0.0, 1.0), |x, y| {
                (1.0 - x / 40.0) * (depth(y) / 72.0).clamp(0.0, 1.0)
            }),
        ],
        width: 900.0,
        row_height: 250.0,
    };
    let scene = lay_out(&picture);
    let svg = render_svg(&scene).unwrap();
    let read = roxmltree::Document::parse(&svg).unwrap();
    let said = |words: &str| {
        read.descendants()
            .filter(|n| n.text() == Some(words) && n.is_element())
            .count()
    };
    assert_eq!(
        (said("north arm"), said("main body"), said("river share")),
        (3, 3, 1)
    );
    left_to_be_seen("rows.svg", svg.as_bytes());
    left_to_be_seen("rows.png", &render_png(&scene, 2.0).unwrap());
}

#[test]
fn a_picture_of_no_size_is_refused_and_a_run_of_no_days_has_none() {
    let mut scene = lay_out(&picture(YAxis::Depth, &days(2018, 1), &[]));
    scene.width = 0.0;
    let refused = render_png(&scene, 1.0);
    assert!(matches!(
        refused,
        Err(plungeline::faces::picture::PictureError::Size { .. })
    ));
    let none = HindcastPicture {
        days: &[],
        pairs: &[],
        compared: Compared::Temperature,
        y_axis: YAxis::Depth,
        thermocline: false,
    };
    assert!(hindcast_panel(&none).is_none());
    let without = HindcastPicture {
        days: &days(2018, 1),
        compared: Compared::Oxygen,
        ..none
    };
    assert!(hindcast_panel(&without).is_none(), "oxygen was not modelled");
    let day = NaiveDate::from_ymd_opt(2018, 1, 1).unwrap();
    assert_eq!(days(2018, 1)[0].day, day);
}
