//! Spheres, and how surface falls behind volume as things grow.

use std::f64::consts::PI;

/// Radius in m of a sphere of `volume` in m³; zero for no volume.
pub fn sphere_radius(volume: f64) -> f64 {
    (3.0 * volume.max(0.0) / (4.0 * PI)).cbrt()
}

/// Surface over volume of a sphere of `volume` in m³, in 1/m: `3/r`; infinite for no volume.
pub fn sphere_surface_to_volume(volume: f64) -> f64 {
    3.0 / sphere_radius(volume)
}

/// Factor by which surface over volume changes when a vessel's volume grows `scale` times: `scale^(−1/3)`.
///
/// For bodies of the same shape. Its inverse is the least factor on the time of
/// an addition whose heat leaves through the wall.
pub fn surface_to_volume_factor(scale: f64) -> f64 {
    1.0 / scale.max(0.0).cbrt()
}

#[cfg(test)]
mod tests {
    use super::super::close;
    use super::*;

    /// Values of plain geometry, to 1 %.
    #[test]
    fn spheres() {
        close("250 mL, radius in cm", sphere_radius(250e-6) * 100.0, 3.91, 0.0391);
        close("250 mL, 1/m", sphere_surface_to_volume(250e-6), 76.8, 0.768);
        close("1 m³, 1/m", sphere_surface_to_volume(1.0), 4.84, 0.0484);
        assert_eq!(sphere_surface_to_volume(0.0), f64::INFINITY);
    }

    /// stolichem.com: 100 m²/m³ in the laboratory and 5 in production, within a factor of 1.5.
    #[test]
    fn laboratory_and_production() {
        let laboratory = sphere_surface_to_volume(100e-6);
        assert!((100.0 / 1.5..=150.0).contains(&laboratory));
        let production = sphere_surface_to_volume(1.0);
        assert!((5.0 / 1.5..=7.5).contains(&production));
    }

    #[test]
    fn growth() {
        for (scale, factor) in [(10.0, 0.464), (100.0, 0.215), (1000.0, 0.100), (1.0, 1.0)] {
            close("factor", surface_to_volume_factor(scale), factor, 0.01 * factor);
        }
        close("time of addition", 1.0 / surface_to_volume_factor(10.0), 2.15, 0.01);
    }
}
