//! Pictures of firings: deviation from the schedule and power, over time.

use std::path::Path;

use plotters::coord::Shift;
use plotters::prelude::{
    ChartBuilder, DrawingArea, DrawingAreaErrorKind, IntoDrawingArea as _, LineSeries, RGBColor, SVGBackend,
    WHITE,
};

use crate::case::Case;
use crate::fault::{Fault, folder};
use crate::law::{LAWS, Law};
use crate::track::{Sample, Track};

const WIDE_HIGH: (u32, u32) = (1000, 560);
const DEVIATION: RGBColor = RGBColor(0xa0, 0x2c, 0x1c);
const POWER: RGBColor = RGBColor(0x1c, 0x4e, 0x80);
/// Deviations beyond this leave the picture: the first minutes would flatten all others.
const DEVIATION_MOST_C: f64 = 4.0;
/// A point of the curve of deviation: short enough to show what the relays' ons and offs do.
const DEVIATION_S: usize = 10;
/// Power is a mean over this, or it would be a block of ons and offs.
const POWER_S: usize = 300;

/// Draws a picture a law into a folder.
pub(crate) fn draw(case: &Case, into: &Path) -> Result<(), Fault> {
    folder(into)?;
    for law in &LAWS {
        let name =
            format!("{}-{}.svg", case.name, law.name.to_lowercase().replace(", ", "-").replace(' ', "-"));
        let path = into.join(name);
        let track = (law.fire)(case);
        picture(&path, case, law, &track).map_err(|what| Fault::Drawing { path, what: what.to_string() })?;
    }
    Ok(())
}

type Refused = DrawingAreaErrorKind<std::io::Error>;

fn picture(path: &Path, case: &Case, law: &Law, track: &Track) -> Result<(), Refused> {
    let area = SVGBackend::new(path, WIDE_HIGH).into_drawing_area();
    area.fill(&WHITE)?;
    let (above, below) = area.split_vertically(WIDE_HIGH.1 / 2);
    let hours: f64 = track.samples.iter().map(|_| 1.0 / 3600.0).sum();
    let lasts_h = hours.max(1.0);
    let title = format!("{}: {}", case.name, law.name);
    let deviation = Panel {
        title: &title,
        axis: "off the schedule, °C, mean of 10 s",
        from: -DEVIATION_MOST_C,
        to: DEVIATION_MOST_C,
        colour: DEVIATION,
    };
    let held_c = |sample: &Sample| sample.over_c().clamp(-DEVIATION_MOST_C, DEVIATION_MOST_C);
    deviation.draw(&above, lasts_h, means(track, DEVIATION_S, held_c))?;
    let rated_kw = case.kiln.rated().w() / 1000.0;
    let power =
        Panel { title: "", axis: "power, kW, mean of 5 min", from: 0.0, to: 1.1 * rated_kw, colour: POWER };
    power.draw(&below, lasts_h, means(track, POWER_S, |sample| sample.power_w / 1000.0))?;
    area.present()
}

/// Means over so many seconds, each at its middle, in hours.
fn means(track: &Track, over_s: usize, of: impl Fn(&Sample) -> f64) -> Vec<(f64, f64)> {
    let mut points = Vec::new();
    let mut from_s = 0.0;
    for run in track.samples.chunks(over_s) {
        let count: f64 = run.iter().map(|_| 1.0).sum();
        points.push(((from_s + count / 2.0) / 3600.0, run.iter().map(&of).sum::<f64>() / count));
        from_s += count;
    }
    points
}

struct Panel<'a> {
    title: &'a str,
    axis: &'a str,
    from: f64,
    to: f64,
    colour: RGBColor,
}

impl Panel<'_> {
    fn draw(
        &self,
        area: &DrawingArea<SVGBackend<'_>, Shift>,
        lasts_h: f64,
        points: Vec<(f64, f64)>,
    ) -> Result<(), Refused> {
        let mut chart = ChartBuilder::on(area)
            .caption(self.title, ("sans-serif", 18))
            .margin(10)
            .x_label_area_size(36)
            .y_label_area_size(56)
            .build_cartesian_2d(0.0..lasts_h, self.from..self.to)?;
        chart.configure_mesh().x_desc("hours").y_desc(self.axis).light_line_style(WHITE).draw()?;
        chart.draw_series(LineSeries::new(points, self.colour))?;
        Ok(())
    }
}
