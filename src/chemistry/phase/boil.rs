//! What really boils, condenses or parts: as many liquids as there are.

use std::borrow::Cow;

use super::here::{Here, bubble_temperature, temperature};
use super::parting::{Phase, follow, part, share_out};
use super::trial::{followed, nearest};
use super::{Liquid, PhaseError, System};

/// The pressure over what boils agrees to this share, or there is no answer.
const AGREE: f64 = 1e-6;

/// How often a search is begun again with phases that it has come upon.
const AGAIN: usize = 5;

/// Where a liquid, or the liquids it parts into, begins to boil.
#[derive(Clone, Debug, PartialEq)]
pub struct Boil {
    /// Temperature, K.
    pub t: f64,
    /// The vapour.
    pub y: Vec<f64>,
    /// The liquids at that temperature, the largest first.
    pub liquids: Vec<Liquid>,
}

/// Where a vapour begins to condense.
#[derive(Clone, Debug, PartialEq)]
pub struct Dew {
    /// Temperature, K.
    pub t: f64,
    /// The first drop.
    pub x: Vec<f64>,
    /// Activity coefficients in it.
    pub gamma: Vec<f64>,
}

/// What there is at one temperature and pressure.
#[derive(Clone, Debug, PartialEq)]
pub struct Flash {
    /// The vapour's share of all moles.
    pub vapour: f64,
    /// Its composition; empty if there is none.
    pub y: Vec<f64>,
    /// The liquids, the largest first; their shares are of all moles.
    pub liquids: Vec<Liquid>,
}

/// The part of a mixture that is there, and how to tell it in terms of the whole.
struct Present<'a> {
    system: Cow<'a, System>,
    members: Vec<usize>,
    z: Vec<f64>,
    n: usize,
}

impl Present<'_> {
    fn spread(&self, values: &[f64], absent: f64) -> Vec<f64> {
        let mut all = vec![absent; self.n];
        for (member, value) in self.members.iter().zip(values) {
            if let Some(place) = all.get_mut(*member) {
                *place = *value;
            }
        }
        all
    }

    fn fractions(&self, amounts: &[f64]) -> Vec<f64> {
        self.spread(amounts, 0.0)
    }

    /// Liquids seen nearby, as phases of what is present.
    fn known(&self, near: &[Liquid]) -> Vec<Phase> {
        let phase = |liquid: &Liquid| {
            let amounts: Vec<f64> = self.members.iter().map(|member| liquid.x.get(*member).map_or(0.0, |x| x * liquid.share)).collect();
            Phase { vapour: false, logs: vec![0.0; amounts.len()], amounts }
        };
        near.iter().map(phase).collect()
    }

    /// The liquids among phases that are settled at `t`, which know their coefficients where all components are there.
    fn settled(&self, whole: &System, t: f64, phases: &[Phase]) -> Vec<Liquid> {
        if self.members.len() < self.n {
            return self.liquids(whole, t, phases);
        }
        sorted(phases, |phase| (phase.fractions(), phase.logs.clone()))
    }

    /// The liquids among some phases, the largest first; what is absent has its coefficient at infinite dilution.
    fn liquids(&self, whole: &System, t: f64, phases: &[Phase]) -> Vec<Liquid> {
        let mut at = whole.activity.at(t);
        sorted(phases, |phase| {
            let x = self.fractions(&phase.fractions());
            let mut logs = vec![0.0; self.n];
            at.ln_gamma(&x, &mut logs);
            (x, logs)
        })
    }
}

/// The liquids among some phases, the largest first, by the composition of each and the logarithms of its coefficients.
fn sorted(phases: &[Phase], mut told: impl FnMut(&Phase) -> (Vec<f64>, Vec<f64>)) -> Vec<Liquid> {
    let liquid = |phase: &Phase| {
        let (x, mut gamma) = told(phase);
        gamma.iter_mut().for_each(|log| *log = log.exp());
        Liquid { share: phase.whole(), x, gamma }
    };
    let mut liquids: Vec<Liquid> = phases.iter().filter(|phase| !phase.vapour).map(liquid).collect();
    liquids.sort_by(|a, b| b.share.total_cmp(&a.share));
    liquids
}

impl System {
    fn present(&self, amounts: &[f64]) -> Result<Present<'_>, PhaseError> {
        let all = self.composition(amounts)?;
        let n = self.len();
        if all.iter().all(|z| *z > 0.0) {
            return Ok(Present { system: Cow::Borrowed(self), members: (0..n).collect(), z: all, n });
        }
        let members: Vec<usize> = all.iter().enumerate().filter(|(_, z)| **z > 0.0).map(|(place, _)| place).collect();
        let z = all.iter().copied().filter(|z| *z > 0.0).collect();
        Ok(Present { system: Cow::Owned(self.subset(&members)), members, z, n })
    }

    fn warm_enough(t: f64) -> Result<(), PhaseError> {
        if t.is_finite() && t >= 50.0 { Ok(()) } else { Err(PhaseError::BadInput { what: "The temperature is no number or below 50 K." }) }
    }

    /// Where `z` begins to boil at `p`: as one liquid if that is stable, else as those that it parts into.
    ///
    /// # Errors
    ///
    /// As for [`System::bubble`], and `TooManyPhases`.
    pub fn boil(&self, z: &[f64], p: f64) -> Result<Boil, PhaseError> {
        let present = self.present(z)?;
        self.pressure(p)?;
        let guess = present.system.boiling_guess(&present.z, p)?;
        let (t, phases, y) = boil_present(&present.system, &present.z, p, guess)?;
        Ok(Boil { t, y: present.fractions(&y), liquids: present.settled(self, t, &phases) })
    }

    /// The same, sought from where another mixture was seen to boil, `x` of it in all. However far that is, the answer is
    /// that of [`System::boil`].
    ///
    /// # Errors
    ///
    /// As for [`System::boil`].
    pub fn boil_from(&self, z: &[f64], p: f64, x: &[f64], seen: &Boil) -> Result<Boil, PhaseError> {
        let present = self.present(z)?;
        self.pressure(p)?;
        present.system.volatile(&present.z)?;
        let mut known = present.known(&seen.liquids);
        share_out(&mut known, &present.z);
        let guess = if known.len() < 2 { beside(seen, x, z) } else { seen.t };
        let Ok((t, phases, y)) = boil_beside(&present.system, &present.z, p, guess, &known) else { return self.boil(z, p) };
        Ok(Boil { t, y: present.fractions(&y), liquids: present.settled(self, t, &phases) })
    }

    /// As [`System::boil`] for a mixture near one that was seen to boil as several liquids, for whoever follows one
    /// in small steps: the temperature to a tenth of a kelvin, and whether yet another liquid would form is not
    /// asked. `None` where that does not serve.
    pub fn boil_near(&self, z: &[f64], p: f64, near: &Boil) -> Option<Boil> {
        let present = self.present(z).ok()?;
        let known = present.known(&near.liquids);
        let mut here = Here::new(&present.system, near.t);
        let mut t = near.t;
        let mut phases = follow(&mut here, &present.z, None, &known)?;
        for _ in 0..4 {
            let off = (pressure_of(&mut here, &phases) / p).ln();
            // Trouton: d ln p / d ln T is about 10.6.
            t *= 1.0 - (off / 10.6).clamp(-0.02, 0.02);
            if off.abs() < 3e-3 {
                let most = phases.iter().max_by(|a, b| a.whole().total_cmp(&b.whole()))?;
                let y = here.vapour_over(&most.fractions(), &most.logs);
                return Some(Boil { t, y: present.fractions(&y), liquids: present.liquids(self, t, &phases) });
            }
            here.warm_to(t);
            phases = follow(&mut here, &present.z, None, &phases)?;
        }
        None
    }

    /// The liquids that `z` parts into at `t`, whether or not it would boil: one, two or three, the largest first.
    ///
    /// # Errors
    ///
    /// `BadInput` for amounts or a temperature that make no sense; `NoConvergence` or `TooManyPhases`.
    pub fn split(&self, z: &[f64], t: f64) -> Result<Vec<Liquid>, PhaseError> {
        let present = self.present(z)?;
        System::warm_enough(t)?;
        let phases = part(&mut Here::new(&present.system, t), &present.z, None, &[])?;
        Ok(present.liquids(self, t, &phases))
    }

    /// As [`System::split`] for a mixture near one that was seen to part so, for whoever follows one in small steps:
    /// whether yet another liquid would form is not asked. `None` where that does not serve.
    pub fn split_near(&self, z: &[f64], t: f64, near: &[Liquid]) -> Option<Vec<Liquid>> {
        let present = self.present(z).ok()?;
        let phases = follow(&mut Here::new(&present.system, t), &present.z, None, &present.known(near))?;
        Some(present.liquids(self, t, &phases))
    }

    /// Vapour and liquids of `z` at `t` and `p`.
    ///
    /// # Errors
    ///
    /// As for [`System::split`].
    pub fn flash(&self, z: &[f64], t: f64, p: f64) -> Result<Flash, PhaseError> {
        let present = self.present(z)?;
        System::warm_enough(t)?;
        self.pressure(p)?;
        let phases = part(&mut Here::new(&present.system, t), &present.z, Some(p), &[])?;
        let vapour = phases.iter().find(|phase| phase.vapour);
        Ok(Flash {
            vapour: vapour.map_or(0.0, Phase::whole),
            y: vapour.map_or_else(Vec::new, |phase| {
                let clean: Vec<f64> = phase.fractions().into_iter().map(|y| if y < 1e-25 { 0.0 } else { y }).collect();
                present.fractions(&clean)
            }),
            liquids: present.liquids(self, t, &phases),
        })
    }

    /// Where a vapour `y` begins to condense at `p`, and its first drop.
    ///
    /// # Errors
    ///
    /// `BadInput` for amounts or a pressure that make no sense or a part that does not boil; `NoTemperature` or
    /// `NoConvergence` if no temperature is found.
    pub fn dew(&self, y: &[f64], p: f64) -> Result<Dew, PhaseError> {
        let present = self.present(y)?;
        self.pressure(p)?;
        if present.system.components.iter().any(|component| component.vapour.is_none()) {
            return Err(PhaseError::BadInput { what: "A part of the vapour does not boil." });
        }
        let guess = present.system.boiling_guess(&present.z, p)?;
        let mut here = Here::new(&present.system, guess);
        let mut d = vec![0.0; present.z.len()];
        let mut drop: Option<Vec<f64>> = None;
        let mut t = guess;
        // The drop forms where the least distance of any liquid from the vapour is zero. One is followed, and then
        // all are looked at again.
        for _ in 0..AGAIN {
            t = temperature(t, |t| {
                here.warm_to(t);
                here.vapour_logs(&present.z, p, &mut d);
                d.iter_mut().zip(&present.z).for_each(|(d, y)| *d += y.ln());
                let followed = drop.as_deref().and_then(|drop| followed(&mut here.at, &d, drop));
                let trial = followed.or_else(|| nearest(&mut here.at, &present.z, &d));
                let trial = trial.ok_or(PhaseError::NoConvergence { what: "a drop" })?;
                drop = Some(trial.w);
                Ok(trial.distance)
            })?;
            here.warm_to(t);
            let least = nearest(&mut here.at, &present.z, &d).ok_or(PhaseError::NoConvergence { what: "a drop" })?;
            if least.distance > -1e-9 {
                break;
            }
            drop = Some(least.w);
        }
        let x = present.fractions(&drop.unwrap_or_default());
        let mut gamma = vec![0.0; x.len()];
        self.activity.ln_gamma(t, &x, &mut gamma);
        gamma.iter_mut().for_each(|log| *log = log.exp());
        Ok(Dew { t, x, gamma })
    }
}

/// Near which temperature `z` boils, seen from where `x` does: as if each volatility stayed.
pub(super) fn beside(seen: &Boil, x: &[f64], z: &[f64]) -> f64 {
    let parts = x.iter().zip(&seen.y).zip(z).filter(|((x, _), _)| **x > 0.0);
    let pressure: f64 = parts.map(|((x, y), z)| y / x * z).sum::<f64>() * x.iter().sum::<f64>() / z.iter().sum::<f64>();
    // Trouton, as in a search for a temperature.
    let by = (pressure.ln() / 10.6).clamp(-0.3, 0.3);
    if by.is_finite() { seen.t / (1.0 + by) } else { seen.t }
}

/// Temperature, liquids and vapour where `z`, all of it above zero, begins to boil.
pub(super) fn boil_present(system: &System, z: &[f64], p: f64, guess: f64) -> Result<(f64, Vec<Phase>, Vec<f64>), PhaseError> {
    boil_beside(system, z, p, guess, &[])
}

/// The same where several liquids may be `known` that boil nearby.
fn boil_beside(system: &System, z: &[f64], p: f64, guess: f64, known: &[Phase]) -> Result<(f64, Vec<Phase>, Vec<f64>), PhaseError> {
    let mut here = Here::new(system, guess);
    let (mut t, mut phases, single) = match follow(&mut here, z, None, known) {
        Some(phases) => (guess, phases, None),
        None => {
            let single = bubble_temperature(&mut here, z, p, guess)?;
            (single, part(&mut here, z, None, &[])?, Some(single))
        }
    };
    // The phases found are followed to the temperature where they boil; if others turn out to be there, again with those.
    for _ in 0..AGAIN {
        if phases.len() == 1 && Some(t) == single {
            break;
        }
        let count = phases.len();
        // A liquid that vanishes on the way is there again on the way back: those at which most were seen are followed.
        let mut most = phases.clone();
        t = temperature(t, |t| {
            here.warm_to(t);
            phases = match follow(&mut here, z, None, &most) {
                Some(followed) => followed,
                // Where they part only below or above, the pressure goes over into that of one liquid without a jump.
                None => part(&mut here, z, None, &[])?,
            };
            if phases.len() >= most.len() {
                most.clone_from(&phases);
            }
            Ok((pressure_of(&mut here, &phases) / p).ln())
        })?;
        here.warm_to(t);
        phases = part(&mut here, z, None, &phases)?;
        if phases.len() == count || ((pressure_of(&mut here, &phases) / p).ln()).abs() < 1e-9 {
            break;
        }
    }
    if (pressure_of(&mut here, &phases) / p).ln().abs() > AGREE {
        return Err(PhaseError::NoConvergence { what: "the liquids that boil" });
    }
    let most = phases.iter().max_by(|a, b| a.whole().total_cmp(&b.whole()));
    let y = most.map_or_else(Vec::new, |phase| here.vapour_over(&phase.fractions(), &phase.logs));
    Ok((t, phases, y))
}

fn pressure_of(here: &mut Here<'_>, phases: &[Phase]) -> f64 {
    let most = phases.iter().max_by(|a, b| a.whole().total_cmp(&b.whole()));
    most.map_or(f64::NAN, |phase| here.pressure_over(&phase.fractions(), &phase.logs))
}
