//! How far a salt, an acid or a base holds back the water that it is dissolved in, from where its solutions boil.
//!
//! A solution boils at one atmosphere where the pressure of pure water would be an atmosphere over the activity of its
//! water. That activity tells how many particles a mole of solute counts for, so that `a = 1/(1 + particles · solute/water)`
//! in mol; they are read off between rows. With temperature the activity goes as the heat has it that is set free when
//! water is added (Gibbs and Helmholtz).

/// Particles that a mole counts for in much water, and at any strength where no table says more. Our own figure: two
/// ions, and what holds more of them holds them together in part.
pub const IONS: f64 = 2.0;

/// Particles to each molecule of the liquid, at most, where no table says where it ends: what is more has
/// crystallised. Our own figure.
const CROWDED: f64 = 1.0;

/// Pressure at which the tables are taken, Pa.
const ATMOSPHERE: f64 = 101_325.0;

/// Where much water boils, K.
const WATER_BOILS: f64 = 373.15;

/// Gas constant, J/(mol K) (SI, exact).
const GAS: f64 = 8.314_462_618;

/// By what factor of the water to either side the heat that is set free on adding some is looked at. Our own figure: tables of heats
/// are coarse.
const ASIDE: f64 = 1.4;

/// By what share the vapour pressure of something falls: its logarithm is `at + per_inverse/T`.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Held {
    /// The part without temperature.
    pub at: f64,
    /// K.
    pub per_inverse: f64,
}

impl Held {
    /// Logarithm of what is left of the pressure at `t` K.
    #[must_use]
    pub fn ln(self, t: f64) -> f64 {
        self.at + self.per_inverse / t
    }

    /// What only dilutes, `particles` to each molecule.
    #[must_use]
    pub fn diluted(particles: f64) -> Held {
        Held { at: -particles.ln_1p(), per_inverse: 0.0 }
    }

    /// Both at once.
    #[must_use]
    pub fn and(self, other: Held) -> Held {
        Held { at: self.at + other.at, per_inverse: self.per_inverse + other.per_inverse }
    }
}

/// A row, and what is worked out of it.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Knot {
    /// mol of solute in a mol of solute and water.
    x: f64,
    /// Particles that a mole of solute counts for, and how they grow with `x`.
    particles: f64,
    growth: f64,
    /// 1/T where it boils, 1/K.
    inverse: f64,
    /// d ln(activity of water)/d(1/T), K.
    per_inverse: f64,
}

/// How strongly one solute holds water, by its strength.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// Ascending; the first is water alone.
    knots: Vec<Knot>,
}

/// How many particles there are to each molecule that is held, where that boils, and what goes with it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crowd {
    /// Particles to each molecule, where the solution boils.
    pub particles: f64,
    /// 1/T there, 1/K.
    inverse: f64,
    /// d ln(activity)/d(1/T), K.
    per_inverse: f64,
}

impl Curve {
    /// From rows of (mass fraction of the solute, boiling point at one atmosphere in K), ascending.
    ///
    /// `molar` are the molar masses of solute and water, kg/mol; `saturated` is the vapour pressure of water, Pa; `heat`
    /// what a mole of solute sets free in all in so many mol of water, J, as far as that is known. Rows that
    /// are no solution or would boil below water are left out; `None` where none is left.
    #[must_use]
    pub fn new(rows: &[(f64, f64)], molar: (f64, f64), saturated: impl Fn(f64) -> f64, heat: impl Fn(f64) -> f64) -> Option<Curve> {
        let water = Knot { x: 0.0, particles: IONS, growth: 0.0, inverse: 1.0 / WATER_BOILS, per_inverse: 0.0 };
        let of_row = |(share, t): &(f64, f64)| {
            let ratio = (1.0 - share) / molar.1 / (share / molar.0);
            let particles = (saturated(*t) / ATMOSPHERE - 1.0) * ratio;
            let (less, more) = (ratio / ASIDE, ratio * ASIDE);
            let per_inverse = -(heat(more) - heat(less)) / (more - less) / GAS;
            let sound = (0.0..1.0).contains(share) && ratio.is_finite() && particles > 0.0 && per_inverse.is_finite();
            sound.then(|| Knot { x: 1.0 / (1.0 + ratio), particles, growth: 0.0, inverse: 1.0 / t, per_inverse })
        };
        let mut knots: Vec<Knot> = std::iter::once(water).chain(rows.iter().filter_map(of_row)).collect();
        let growths: Vec<f64> = (0..knots.len()).map(|at| growth(&knots, at)).collect();
        knots.iter_mut().zip(growths).for_each(|(knot, growth)| knot.growth = growth);
        (knots.len() > 1).then_some(Curve { knots })
    }

    /// The strongest solution of the table, mol of solute to a mol of water.
    #[must_use]
    pub fn strongest(&self) -> f64 {
        self.knots.last().map_or(0.0, |knot| knot.x / (1.0 - knot.x))
    }

    /// At so many mol of solute to a mol of what is held; a liquid stronger than the table's is held as that is.
    fn crowd(&self, ratio: f64) -> Crowd {
        let ratio = ratio.clamp(0.0, self.strongest());
        let x = ratio / (1.0 + ratio);
        let mut pairs = self.knots.iter().zip(self.knots.iter().skip(1));
        let Some((from, to)) = pairs.clone().find(|(_, to)| x <= to.x).or_else(|| pairs.next_back()) else {
            return Crowd { particles: IONS * ratio, inverse: 1.0 / WATER_BOILS, per_inverse: 0.0 };
        };
        let (width, share) = (to.x - from.x, ((x - from.x) / (to.x - from.x)).clamp(0.0, 1.0));
        let straight = |from: f64, to: f64| from + share * (to - from);
        // Hermite's cubic through both rows.
        let (s, rest) = (share, 1.0 - share);
        let particles = from.particles * (1.0 + 2.0 * s) * rest * rest
            + to.particles * s * s * (3.0 - 2.0 * s)
            + width * s * rest * (from.growth * rest - to.growth * s);
        Crowd {
            particles: particles * ratio,
            inverse: straight(from.inverse, to.inverse),
            per_inverse: straight(from.per_inverse, to.per_inverse),
        }
    }
}

/// How the particles grow at a row, so that between rows they never overshoot: the weighted harmonic mean of the slopes
/// on both sides (Fritsch and Butland 1984), none where these have not one sign, and the straight line at an end.
fn growth(knots: &[Knot], at: usize) -> f64 {
    let slope = |from: usize| {
        let (from, to) = (knots.get(from)?, knots.get(from + 1)?);
        Some((to.x - from.x, (to.particles - from.particles) / (to.x - from.x)))
    };
    match (at.checked_sub(1).and_then(slope), slope(at)) {
        (Some((h0, d0)), Some((h1, d1))) if d0 * d1 > 0.0 => {
            let (w0, w1) = (2.0 * h1 + h0, h1 + 2.0 * h0);
            (w0 + w1) / (w0 / d0 + w1 / d1)
        }
        (Some(_), Some(_)) | (None, None) => 0.0,
        (Some((_, d)), None) | (None, Some((_, d))) => d,
    }
}

/// What solutes are to `holding` mol of molecules: each is given by its moles and by its curve, if it has one; `None` where
/// nothing is dissolved or nothing is held.
///
/// Each holds as it would if all that is dissolved were of its kind, and they share by their moles, so that one solute
/// counted as two is one (as Zdanovskii found of solutions alike in their activity).
#[must_use]
pub fn crowd<'a>(solutes: impl Iterator<Item = (f64, Option<&'a Curve>)> + Clone, holding: f64) -> Option<Crowd> {
    let all: f64 = solutes.clone().map(|(moles, _)| moles).sum();
    let ratio = all / holding;
    let (mut particles, mut warmth, mut inverse) = (0.0, 0.0, 0.0);
    for (moles, curve) in solutes.filter(|_| all > 0.0 && holding > 0.0) {
        let crowd = curve.map_or_else(
            || Crowd { particles: (IONS * ratio).min(CROWDED), inverse: 1.0 / WATER_BOILS, per_inverse: 0.0 },
            |curve| curve.crowd(ratio),
        );
        let own = moles / all * crowd.particles;
        particles += own;
        warmth += own * crowd.per_inverse;
        inverse += own * crowd.inverse;
    }
    (particles > 0.0).then(|| Crowd { particles, inverse: inverse / particles, per_inverse: warmth / particles })
}

/// How they hold these molecules back.
#[must_use]
pub fn held<'a>(solutes: impl Iterator<Item = (f64, Option<&'a Curve>)> + Clone, holding: f64) -> Held {
    crowd(solutes, holding).map_or_else(Held::default, |crowd| Held {
        at: -crowd.particles.ln_1p() - crowd.per_inverse * crowd.inverse,
        per_inverse: crowd.per_inverse,
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::super::close;
    use super::super::vapour::VapourPressure;
    use super::*;

    const SALT: (f64, f64) = (0.05844, 0.018015);

    /// Water by Antoine's equation, the constants from memory.
    fn water(t: f64) -> f64 {
        VapourPressure::AntoineLog10 { a: 10.196_212, b: 1730.63, c: -39.724, t_min: 274.0, t_max: 373.0 }.pressure(t)
    }

    fn curve(heat: impl Fn(f64) -> f64) -> Curve {
        Curve::new(&[(0.1103, 375.15), (0.2032, 378.15), (0.2892, 381.15)], SALT, water, heat).unwrap()
    }

    /// mol of salt to a mol of water at a strength.
    fn ratio(share: f64) -> f64 {
        share / SALT.0 / ((1.0 - share) / SALT.1)
    }

    #[test]
    fn water_boils_off_each_row_at_its_temperature() {
        let curve = curve(|_| 0.0);
        for (share, t) in [(0.1103, 375.15), (0.2032, 378.15), (0.2892, 381.15)] {
            let over = water(t) * held([(ratio(share), Some(&curve))].into_iter(), 1.0).ln(t).exp();
            close("an atmosphere, Pa", over, ATMOSPHERE, 1e-6);
        }
    }

    #[test]
    fn much_water_is_diluted_by_two_and_what_crystallises_holds_no_more() {
        let curve = curve(|_| 0.0);
        let ln = |ratio: f64| held([(ratio, Some(&curve))].into_iter(), 1.0).ln(373.0);
        close("a trace", ln(1e-9), -2e-9, 1e-15);
        assert_eq!(held([(0.0, Some(&curve))].into_iter(), 1.0), Held::default());
        assert_eq!(held([(1.0, Some(&curve))].into_iter(), 0.0), Held::default());
        close("more than saturated", ln(5.0), ln(curve.strongest()), 1e-15);
        // No jump and no corner but at the end of the table.
        let mut before = 0.0;
        for step in 1..2000 {
            let here = ln(f64::from(step) * 1e-4);
            assert!(here <= before && before - here < 5e-4, "{step}: {before} to {here}");
            before = here;
        }
        // Without a table as many as ever, up to one to each molecule.
        close("no table", held([(0.1, None)].into_iter(), 1.0).ln(300.0), -(1.2_f64.ln()), 1e-12);
        close("crowded", held([(9.0, None)].into_iter(), 1.0).ln(300.0), -(2.0_f64.ln()), 1e-12);
    }

    #[test]
    fn one_salt_counted_as_two_is_one_salt() {
        let curve = curve(|_| 0.0);
        let whole = held([(0.08, Some(&curve))].into_iter(), 1.0);
        let halves = held([(0.03, Some(&curve)), (0.05, Some(&curve))].into_iter(), 1.0);
        close("held", halves.ln(350.0), whole.ln(350.0), 1e-12);
    }

    #[test]
    fn heat_of_dilution_holds_water_faster_in_the_cold() {
        // Water that comes in sets free 2 kJ/mol at any strength.
        let curve = curve(|n| 2000.0 * n);
        let held = held([(curve.strongest(), Some(&curve))].into_iter(), 1.0);
        let colder = held.ln(298.15) - held.ln(381.15);
        close("by Gibbs and Helmholtz", colder, -2000.0 / GAS * (1.0 / 298.15 - 1.0 / 381.15), 1e-9);
    }

    #[test]
    fn rows_that_are_no_solution_are_left_out() {
        assert_eq!(Curve::new(&[(1.0, 400.0), (0.2, 360.0), (f64::NAN, 380.0)], SALT, water, |_| 0.0), None);
        assert_eq!(Curve::new(&[], SALT, water, |_| 0.0), None);
    }
}
