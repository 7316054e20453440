//! Curves over one figure, as a drawing that stands alone, in SVG. Lines differ by their dashes, too, so that they part in
//! black and white and for those who see no red or green.

use super::page::text as escaped;
use crate::kinds::significant;

/// An axis.
#[derive(Clone, Debug, Default)]
pub struct Axis {
    /// What it shows, with the unit.
    pub label: String,
    /// The figure at its beginning.
    pub low: f64,
    /// The figure at its end.
    pub high: f64,
    /// Into how many parts it is divided.
    pub ticks: u32,
}

impl Axis {
    /// An axis with round figures that holds all of these; `None` where there is nothing to hold.
    #[must_use]
    pub fn holding(label: String, figures: impl Iterator<Item = f64>) -> Option<Self> {
        let (least, most) = figures
            .filter(|figure| figure.is_finite())
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), figure| (least.min(figure), most.max(figure)));
        if least > most {
            return None;
        }
        // A level line stands in the middle of its axis.
        let room = if most - least > 1e-9 * most.abs() { most - least } else { 0.2 * most.abs().max(1e-9) };
        let (least, most) = if most - least < room { (least - 0.5 * room, most + 0.5 * room) } else { (least, most) };
        let decade = 10f64.powf((room / 5.0).log10().floor());
        let step = [1.0, 2.0, 2.5, 5.0, 10.0].into_iter().map(|step| step * decade).find(|step| room / step <= 6.0).unwrap_or(room);
        let low = (least / step + 1e-9).floor() * step;
        let high = (most / step - 1e-9).ceil() * step;
        // The count is small: the step was chosen for it.
        Some(Self { label, low, high, ticks: ((high - low) / step).round().clamp(1.0, 20.0) as u32 })
    }

    fn share(&self, figure: f64) -> f64 {
        (figure - self.low) / (self.high - self.low)
    }

    /// The shares at which its parts end, each with its figure in letters.
    fn marks(&self) -> Vec<(f64, String)> {
        let ticks = self.ticks.max(1);
        let step = (self.high - self.low) / f64::from(ticks);
        let mark = |tick: u32| {
            let figure = self.low + step * f64::from(tick);
            // What is left of rounding beside zero is no figure.
            let figure = if figure.abs() < 1e-9 * step.abs() { 0.0 } else { figure };
            (f64::from(tick) / f64::from(ticks), trimmed(&significant(figure, 4)))
        };
        (0..=ticks).map(mark).collect()
    }
}

/// A number without noughts at the end of its decimals.
#[must_use]
pub fn trimmed(number: &str) -> String {
    if number.contains('.') { number.trim_end_matches('0').trim_end_matches('.').to_owned() } else { number.to_owned() }
}

/// A curve.
#[derive(Clone, Debug, Default)]
pub struct Line {
    /// What it shows.
    pub name: String,
    /// Its points; where nothing is known it is broken into pieces.
    pub pieces: Vec<Vec<(f64, f64)>>,
    /// Whether it is read on the right.
    pub right: bool,
    /// Whether its points are marked.
    pub dots: bool,
}

impl Line {
    /// An unbroken line that is read on the left.
    #[must_use]
    pub fn new(name: impl Into<String>, points: Vec<(f64, f64)>) -> Self {
        Self { name: name.into(), pieces: vec![points], ..Self::default() }
    }
}

/// A drawing.
#[derive(Clone, Debug, Default)]
pub struct Plot {
    /// What stands above it.
    pub heading: String,
    /// The axis below.
    pub x: Axis,
    /// The axis on the left.
    pub left: Axis,
    /// The axis on the right.
    pub right: Option<Axis>,
    /// The curves.
    pub lines: Vec<Line>,
    /// Upright lines, each at a figure of the axis below and with a few words.
    pub uprights: Vec<(f64, String)>,
    /// Points that are ringed, read on the left, with a few words.
    pub rings: Vec<(f64, f64, String)>,
    /// Whether names stand at the ends of the curves, under this heading, and not in a list below. There is no axis on the
    /// right then.
    pub at_ends: Option<String>,
}

/// How lines are drawn, in turn: colour and dashes. Our own choice.
const STYLES: [(&str, &str); 8] = [
    ("#0b5394", ""),
    ("#b45f06", "7 4"),
    ("#38761d", "2 3"),
    ("#741b47", "10 3 2 3"),
    ("#444444", "14 4"),
    ("#0c6b6b", "4 2"),
    ("#7f0000", "1 5"),
    ("#20124d", "10 3 2 3 2 3"),
];

/// Most curves that part from one another by how they are drawn.
pub const MOST_LINES: usize = STYLES.len();

const WIDTH: f64 = 720.0;
const HEIGHT: f64 = 430.0;
const X0: f64 = 70.0;
const Y0: f64 = 330.0;
const Y1: f64 = 50.0;
/// Least distance of two names at the ends of curves.
const APART: f64 = 15.0;

/// The frame in which a plot is drawn.
struct Frame<'a> {
    plot: &'a Plot,
    /// Where the axis below ends.
    x1: f64,
}

impl Frame<'_> {
    fn x(&self, figure: f64) -> f64 {
        X0 + (self.x1 - X0) * self.plot.x.share(figure)
    }

    fn y(&self, figure: f64, right: bool) -> f64 {
        let axis = self.plot.right.as_ref().filter(|_| right).unwrap_or(&self.plot.left);
        Y0 + (Y1 - Y0) * axis.share(figure).clamp(-0.1, 1.1)
    }

    fn axes(&self, out: &mut String) {
        let x1 = self.x1;
        for (share, figure) in self.plot.x.marks() {
            let at = X0 + (x1 - X0) * share;
            out.push_str(&format!("<path d=\"M{at:.1} {Y1}V{Y0}\" stroke=\"#dddddd\" fill=\"none\"/>\n"));
            out.push_str(&format!("<text x=\"{at:.1}\" y=\"{}\" text-anchor=\"middle\" fill=\"#111111\">{figure}</text>\n", Y0 + 18.0));
        }
        for (share, figure) in self.plot.left.marks() {
            let at = Y0 + (Y1 - Y0) * share;
            out.push_str(&format!("<path d=\"M{X0} {at:.1}H{x1}\" stroke=\"#dddddd\" fill=\"none\"/>\n"));
            let (x, y) = (X0 - 8.0, at + 4.0);
            out.push_str(&format!("<text x=\"{x}\" y=\"{y:.1}\" text-anchor=\"end\" fill=\"#111111\">{figure}</text>\n"));
        }
        let sides = if self.plot.right.is_some() { format!("M{X0} {Y1}V{Y0}H{x1}V{Y1}") } else { format!("M{X0} {Y1}V{Y0}H{x1}") };
        out.push_str(&format!("<path d=\"{sides}\" stroke=\"#111111\" fill=\"none\"/>\n"));
        let (middle_x, middle_y) = (0.5 * (X0 + x1), 0.5 * (Y0 + Y1));
        let below = escaped(&self.plot.x.label);
        out.push_str(&format!("<text x=\"{middle_x}\" y=\"{}\" text-anchor=\"middle\" fill=\"#111111\">{below}</text>\n", Y0 + 38.0));
        let upright = |x: f64, label: &str| {
            let label = escaped(label);
            format!("<text transform=\"translate({x} {middle_y}) rotate(-90)\" text-anchor=\"middle\" fill=\"#111111\">{label}</text>\n")
        };
        out.push_str(&upright(20.0, &self.plot.left.label));
        if let Some(right) = &self.plot.right {
            for (share, figure) in right.marks() {
                let at = Y0 + (Y1 - Y0) * share;
                out.push_str(&format!("<path d=\"M{x1} {at:.1}h4\" stroke=\"#111111\"/>\n"));
                out.push_str(&format!("<text x=\"{}\" y=\"{:.1}\" fill=\"#111111\">{figure}</text>\n", x1 + 8.0, at + 4.0));
            }
            out.push_str(&upright(x1 + 58.0, &right.label));
        }
    }

    fn uprights(&self, out: &mut String) {
        let mut all: Vec<(f64, String)> = Vec::new();
        for (figure, name) in &self.plot.uprights {
            let x = self.x(*figure);
            match all.iter_mut().find(|(known, _)| (*known - x).abs() < 0.5) {
                Some((_, names)) => names.push_str(&format!(", {name}")),
                None => all.push((x, name.clone())),
            }
        }
        for (number, (x, name)) in all.iter().enumerate() {
            // Where another stands close behind, its name goes the other way.
            let crowded = all.iter().enumerate().any(|(other, (at, _))| other != number && *at > *x && at - x < 90.0);
            let (at, anchor) = if crowded || *x > self.x1 - 90.0 { (x + 3.0, " text-anchor=\"end\"") } else { (x - 3.0, "") };
            out.push_str(&format!("<path d=\"M{x:.1} {}V{Y0}\" stroke=\"#666666\" stroke-dasharray=\"4 4\"/>\n", Y1 - 4.0));
            let (y, name) = (Y1 - 7.0, escaped(name));
            out.push_str(&format!("<text x=\"{at:.1}\" y=\"{y}\"{anchor} fill=\"#444444\" font-size=\"11\">{name}</text>\n"));
        }
    }

    fn curves(&self, out: &mut String) {
        for (number, line) in self.plot.lines.iter().enumerate() {
            let (colour, dash) = style(number);
            for piece in &line.pieces {
                let points: Vec<(f64, f64)> = piece.iter().map(|(x, y)| (self.x(*x), self.y(*y, line.right))).collect();
                let path: Vec<String> = points.iter().map(|(x, y)| format!("{x:.1} {y:.1}")).collect();
                if path.len() > 1 {
                    let path = path.join("L");
                    out.push_str(&format!("<path d=\"M{path}\" stroke=\"{colour}\" stroke-width=\"2\" fill=\"none\"{dash}/>\n"));
                }
                for (x, y) in points.iter().filter(|_| line.dots) {
                    out.push_str(&format!("<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"2.5\" fill=\"{colour}\"/>\n"));
                }
            }
        }
        for (x, y, name) in &self.plot.rings {
            let (x, y, name) = (self.x(*x), self.y(*y, false), escaped(name));
            out.push_str(&format!("<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"6\" stroke=\"#111111\" fill=\"none\"/>\n"));
            let (at, anchor) = if x > self.x1 - 90.0 { (x - 9.0, " text-anchor=\"end\"") } else { (x + 9.0, "") };
            out.push_str(&format!("<text x=\"{at:.1}\" y=\"{:.1}\"{anchor} fill=\"#111111\" font-size=\"11\">{name}</text>\n", y - 8.0));
        }
    }

    /// The names of the curves, two to a row below.
    fn list(&self, out: &mut String) {
        for (number, line) in self.plot.lines.iter().enumerate() {
            let (colour, dash) = style(number);
            let (x, y) = (X0 + 300.0 * (number % 2) as f64, Y0 + 62.0 + 20.0 * (number / 2) as f64);
            out.push_str(&format!("<path d=\"M{x} {}h30\" stroke=\"{colour}\" stroke-width=\"2\"{dash}/>\n", y - 4.0));
            out.push_str(&format!("<text x=\"{}\" y=\"{y}\" fill=\"#111111\">{}</text>\n", x + 38.0, escaped(&line.name)));
        }
    }

    /// The names of the curves where they end, moved apart where they would cover one another.
    fn ends(&self, heading: &str, out: &mut String) {
        let ends = self.plot.lines.iter().enumerate().filter_map(|(number, line)| {
            let (x, y) = line.pieces.iter().flatten().next_back()?;
            Some((number, self.x(*x), self.y(*y, line.right)))
        });
        // A curve that breaks off before the frame ends has its name there; the others stand in a column.
        let (mut ends, early): (Vec<(usize, f64, f64)>, Vec<_>) = ends.partition(|(_, x, _)| *x > self.x1 - 1.0);
        let name_of = |number: usize| self.plot.lines.get(number).map_or_else(String::new, |line| escaped(&line.name));
        for (number, x, y) in early {
            out.push_str(&format!(
                "<text x=\"{:.1}\" y=\"{:.1}\" fill=\"#111111\" stroke=\"#ffffff\" stroke-width=\"3\" paint-order=\"stroke\">{}</text>\n",
                x + 8.0,
                y + 12.0,
                name_of(number)
            ));
        }
        ends.sort_by(|(_, _, one), (_, _, other)| one.total_cmp(other));
        let mut names: Vec<f64> = Vec::new();
        for (_, _, y) in &ends {
            names.push(names.last().map_or(*y, |above| y.max(above + APART)));
        }
        // What was pushed below the frame pushes the others up again.
        let mut below = Y0 + APART;
        for y in names.iter_mut().rev() {
            *y = y.min(below - APART);
            below = *y;
        }
        let x = self.x1 + 26.0;
        out.push_str(&format!("<text x=\"{x}\" y=\"{}\" fill=\"#111111\" font-size=\"11\">{}</text>\n", Y1 - 12.0, escaped(heading)));
        for ((number, end, y), name) in ends.iter().zip(names) {
            let (colour, _) = style(*number);
            out.push_str(&format!("<path d=\"M{end:.1} {y:.1}L{:.1} {name:.1}\" stroke=\"{colour}\" stroke-width=\"0.7\"/>\n", x - 3.0));
            out.push_str(&format!("<text x=\"{x}\" y=\"{:.1}\" fill=\"#111111\">{}</text>\n", name + 4.0, name_of(*number)));
        }
    }
}

/// Colour and dashes of a line.
fn style(number: usize) -> (&'static str, String) {
    let (colour, dash) = STYLES.get(number % STYLES.len()).copied().unwrap_or(("#000000", ""));
    (colour, if dash.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{dash}\"") })
}

/// The drawing.
#[must_use]
pub fn drawn(plot: &Plot) -> String {
    let frame = Frame { plot, x1: if plot.at_ends.is_some() { 570.0 } else { 640.0 } };
    let heading = escaped(&plot.heading);
    // A long heading is set smaller, so that it ends on the drawing: a letter is about half as wide as it is high.
    let size = (1.8 * (WIDTH - X0) / plot.heading.chars().count().max(1) as f64).clamp(8.0, 15.0);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" width=\"{WIDTH}\" height=\"{HEIGHT}\" role=\"img\" font-family=\"sans-serif\" font-size=\"13\">\n<title>{heading}</title>\n<rect width=\"{WIDTH}\" height=\"{HEIGHT}\" fill=\"#ffffff\"/>\n<text x=\"{X0}\" y=\"24\" font-size=\"{size:.1}\" fill=\"#111111\">{heading}</text>\n"
    );
    frame.axes(&mut out);
    frame.uprights(&mut out);
    frame.curves(&mut out);
    match &plot.at_ends {
        Some(heading) => frame.ends(heading, &mut out),
        None => frame.list(&mut out),
    }
    out.push_str("</svg>\n");
    out
}

/// The next round number whose fifths are round, too.
#[must_use]
pub fn nice(value: f64) -> f64 {
    let decade = 10f64.powf(value.log10().floor());
    [1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0]
        .iter()
        .map(|step| step * decade)
        .find(|step| *step >= value * (1.0 - 1e-9))
        .unwrap_or(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_axis_is_round_and_holds_what_it_shows() {
        let axis = |figures: &[f64]| Axis::holding(String::new(), figures.iter().copied()).unwrap();
        for figures in [[61.3, 93.2], [1.0, 3.0], [0.0, 1e-6], [99.2, 99.3], [-5.0, 5.0], [70.0, 70.0]] {
            let axis = axis(&figures);
            assert!(axis.low <= figures[0] && figures[1] <= axis.high && (1..=8).contains(&axis.ticks), "{figures:?} {axis:?}");
        }
        let one = axis(&[1.0, 3.0]);
        assert_eq!((one.low, one.high, one.ticks), (1.0, 3.0, 4));
        assert_eq!(one.marks().iter().map(|(_, figure)| figure.as_str()).collect::<Vec<_>>(), ["1", "1.5", "2", "2.5", "3"]);
        assert!(Axis::holding(String::new(), [f64::NAN].into_iter()).is_none());
    }
}
