//! Heat through the wall of a flask: how long a heater takes to warm what is in it, and what a bath takes away.

use std::f64::consts::PI;

/// Heat capacity of borosilicate glass, J/(kg K), from memory.
const GLASS: f64 = 830.0;

/// kg of glass to the m² of a flask's wall. Our own figure: a round flask of 250 mL then weighs about 110 g.
const WALL: f64 = 5.8;

/// Surface of a sphere of `size` m³, m².
#[must_use]
pub fn surface(size: f64) -> f64 {
    PI.cbrt() * (6.0 * size.max(0.0)).powf(2.0 / 3.0)
}

/// The part of the wall of a round flask of `size` m³ that `volume` m³ wet, m²: all of it where it is full.
///
/// By bisection of the depth of the liquid, to a millionth of the diameter.
#[must_use]
pub fn wetted(volume: f64, size: f64) -> f64 {
    let radius = super::geometry::sphere_radius(size);
    if volume >= size {
        return surface(size);
    }
    let (mut low, mut high) = (0.0, 2.0 * radius);
    for _ in 0..40 {
        let depth = 0.5 * (low + high);
        if PI * depth * depth * (radius - depth / 3.0) < volume {
            low = depth;
        } else {
            high = depth;
        }
    }
    PI * radius * (low + high)
}

/// Heat capacity of the glass of a round flask of `size` m³, J/K.
#[must_use]
pub fn glass(size: f64) -> f64 {
    GLASS * WALL * surface(size)
}

/// How long `power` W take to warm what has a heat capacity of `capacity` J/K from `from` to `to` K, while `loss` W/K
/// go to the room at `room` K; `None` where they never do.
#[must_use]
pub fn time_to_warm(capacity: f64, power: f64, loss: f64, (from, to): (f64, f64), room: f64) -> Option<f64> {
    if to <= from {
        return Some(0.0);
    }
    let (first, last) = (power - loss * (from - room), power - loss * (to - room));
    if !(first > 0.0 && last > 0.0) {
        return None;
    }
    // Without a loss the exact form is nothing over nothing.
    Some(if loss * (to - from) < 1e-6 * first { capacity * (to - from) / first } else { capacity / loss * (first / last).ln() })
}

#[cfg(test)]
mod tests {
    use super::super::close;
    use super::*;

    #[test]
    fn a_half_full_flask_wets_half_its_wall() {
        close("half", wetted(125e-6, 250e-6), 0.5 * surface(250e-6), 1e-6 * surface(250e-6));
        close("full", wetted(250e-6, 250e-6), surface(250e-6), 1e-12);
        close("empty", wetted(0.0, 250e-6), 0.0, 1e-6);
        // A sphere of radius 1 m has 4π m².
        close("a sphere", surface(4.0 / 3.0 * PI), 4.0 * PI, 1e-9);
    }

    #[test]
    fn water_in_a_kettle() {
        // 1.00 kg of water from 20 to 100 °C takes 334.7 kJ: 167 s at 2 kW.
        close("no loss", time_to_warm(4184.0, 2000.0, 0.0, (293.15, 373.15), 293.15).unwrap_or(0.0), 167.4, 0.1);
        let lossy = time_to_warm(4184.0, 2000.0, 5.0, (293.15, 373.15), 293.15).unwrap_or(0.0);
        close("C/h ln(P/(P - hΔT))", lossy, 4184.0 / 5.0 * (2000.0_f64 / 1600.0).ln(), 1e-6);
        assert_eq!(time_to_warm(4184.0, 100.0, 5.0, (293.15, 373.15), 293.15), None, "it comes to rest at 40 °C");
        assert_eq!(time_to_warm(4184.0, 100.0, 5.0, (373.15, 293.15), 293.15), Some(0.0));
    }

    #[test]
    fn glass_weighs_something() {
        // A round flask of 250 mL weighs some 110 g (our own figure).
        close("J/K", glass(250e-6), 0.11 * 830.0, 5.0);
    }
}
