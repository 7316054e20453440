//! The pH of water that holds acids and bases, some of which may lie in another liquid over it, and how
//! much of each is there without a charge.
//!
//! Constants hold for ideal solutions at 25 °C; what salt does to them is left out, some tenths of a unit.

/// Below and above this no pH is looked for.
const ENDS: (f64, f64) = (-2.0, 16.0);

/// Ion product of water, as its negative logarithm.
const WATER: f64 = 14.0;

/// An acid, a base, or what is both.
#[derive(Clone, Debug, Default)]
pub struct Proton<'a> {
    /// Moles of it as it is written, without a charge (or, of a salt, as its ion).
    pub moles: f64,
    /// pKa of the protons that it gives, strongest first.
    pub gives: &'a [f64],
    /// pKa of what it becomes when it has taken one up.
    pub takes: Option<f64>,
    /// Moles of the same substance that are there as a salt written by itself.
    pub as_salt: f64,
    /// Moles in the other liquid for each mole without a charge in the water; zero for what stays in the water.
    pub ratio: f64,
}

fn power(exponent: f64) -> f64 {
    (exponent.clamp(-300.0, 300.0) * std::f64::consts::LN_10).exp()
}

impl Proton<'_> {
    /// Of what is in the water: the share without a charge, and protons taken up for each mole.
    fn state(&self, ph: f64) -> (f64, f64) {
        let mut given = 0.0;
        let mut less = 1.0;
        for pka in self.gives {
            let k = power(ph - pka);
            less *= 1.0 + k;
            given += k / (1.0 + k);
        }
        let more = self.takes.map_or(0.0, |pka| power(pka - ph));
        let whole = less + more;
        (1.0 / whole, more / whole - given * less / whole)
    }

    /// Moles in the water and moles in the other liquid, salts included.
    fn parted(&self, free: f64) -> (f64, f64) {
        let all = self.moles + self.as_salt;
        let water = all / (1.0 + self.ratio * free);
        (water, all - water)
    }

    /// Moles in the other liquid for each mole in the water at this pH, of what is not written as a salt.
    #[must_use]
    pub fn ratio_at(&self, ph: f64) -> f64 {
        let (free, _) = self.state(ph);
        if self.as_salt <= 0.0 {
            return self.ratio * free;
        }
        // What goes over comes from the acid itself first; a salt cannot leave the water as it is written.
        let (_, other) = self.parted(free);
        let other = other.min(self.moles * (1.0 - 1e-12));
        other / (self.moles - other).max(1e-300)
    }

    /// Protons taken up in all, against what is written.
    fn taken(&self, ph: f64) -> f64 {
        let (free, each) = self.state(ph);
        let salt = if self.gives.is_empty() { -self.as_salt } else { self.as_salt };
        self.parted(free).0 * each + salt
    }
}

/// The pH of `volume` m³ of water with `hydroxide` mol of strong base and these acids and bases.
#[must_use]
pub fn ph(volume: f64, hydroxide: f64, all: &[Proton<'_>]) -> f64 {
    let litres = volume.max(0.0) * 1e3;
    let surplus = |ph: f64| {
        let free = litres * (power(-ph) - power(ph - WATER));
        free + hydroxide + all.iter().map(|one| one.taken(ph)).sum::<f64>()
    };
    let (mut low, mut high) = ENDS;
    for _ in 0..44 {
        let middle = 0.5 * (low + high);
        if surplus(middle) > 0.0 { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::super::close;
    use super::*;

    const ACETIC: [f64; 1] = [4.76];

    fn acid(moles: f64, gives: &[f64]) -> Proton<'_> {
        Proton { moles, gives, ..Proton::default() }
    }

    /// Textbook solutions of one litre, from memory: pH of 0.1 mol of each.
    #[test]
    fn textbook_solutions() {
        close("water", ph(1e-3, 0.0, &[]), 7.0, 1e-6);
        close("hydrochloric acid", ph(1e-3, 0.0, &[acid(0.1, &[-7.0])]), 1.0, 1e-3);
        close("caustic soda", ph(1e-3, 0.1, &[]), 13.0, 1e-3);
        close("acetic acid", ph(1e-3, 0.0, &[acid(0.1, &ACETIC)]), 2.88, 0.01);
        let acetate = Proton { moles: 0.1, takes: Some(4.76), ..Proton::default() };
        close("sodium acetate", ph(1e-3, 0.0, std::slice::from_ref(&acetate)), 8.88, 0.01);
        close("half and half", ph(1e-3, 0.0, &[acid(0.1, &ACETIC), acetate]), 4.76, 0.01);
        let bicarbonate = Proton { moles: 0.1, gives: &[10.33], takes: Some(6.35), ..Proton::default() };
        close("bicarbonate", ph(1e-3, 0.0, &[bicarbonate]), 8.34, 0.02);
        let ammonia = Proton { moles: 0.1, takes: Some(9.25), ..Proton::default() };
        close("ammonia", ph(1e-3, 0.0, &[ammonia]), 11.12, 0.01);
        // Sulfuric acid 0.1 mol/L gives its second proton in part: pH near 0.96.
        close("sulfuric acid", ph(1e-3, 0.0, &[acid(0.1, &[-3.0, 1.99])]), 0.96, 0.02);
    }

    /// Against the equation of Henderson and Hasselbalch over a layer that holds acid as well.
    #[test]
    fn a_buffer_under_another_liquid() {
        let shaken = Proton { moles: 0.1, gives: &ACETIC, as_salt: 0.1, ratio: 3.0, ..Proton::default() };
        let ph = ph(1e-3, 0.0, std::slice::from_ref(&shaken));
        // Of 0.1 mol without a charge a quarter is in the water, over against 0.1 mol of ion.
        close("pH", ph, 4.76 + (0.1_f64 / 0.025).log10(), 0.01);
        close("shared", shaken.ratio_at(ph), 3.0, 0.01);
        // Far below the pKa the ratio is that of the acid itself, far above next to nothing.
        let plain = Proton { as_salt: 0.0, ..shaken };
        close("low", plain.ratio_at(0.0), 3.0, 1e-4);
        assert!(plain.ratio_at(12.0) < 1e-6);
    }

    #[test]
    fn nothing_is_no_number() {
        for volume in [0.0, 1e-12, f64::NAN, f64::INFINITY] {
            assert!((ENDS.0..=ENDS.1).contains(&ph(volume, 0.0, &[acid(1e-9, &ACETIC)])));
        }
    }
}
