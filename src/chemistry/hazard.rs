//! Classes of hazard that follow from numbers.

/// Room for the rounding of a conversion from °C, so that a value on a boundary stays on it, K.
const HAIR: f64 = 1e-9;

/// Category of a flammable liquid, UN GHS chapter 2.6.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum FlammableLiquid {
    /// Flash point below 23 °C and initial boiling point at most 35 °C.
    Category1,
    /// Flash point below 23 °C and initial boiling point above 35 °C.
    Category2,
    /// Flash point 23 to 60 °C.
    Category3,
    /// Flash point above 60 and at most 93 °C. In the UN GHS; the EU's CLP has no such category.
    Category4,
}

impl FlammableLiquid {
    /// The code of the hazard statement, `"H224"` to `"H227"`.
    pub fn statement(self) -> &'static str {
        match self {
            FlammableLiquid::Category1 => "H224",
            FlammableLiquid::Category2 => "H225",
            FlammableLiquid::Category3 => "H226",
            FlammableLiquid::Category4 => "H227",
        }
    }
}

/// Category of a flammable liquid from its flash point and its initial boiling point, both in K.
///
/// UN GHS 2.6.2: below 23 °C the boiling point decides between 1 (at most
/// 35 °C) and 2; 23 to 60 °C is 3; above 60 to 93 °C is 4. `None` above that, or
/// for a number that is none.
pub fn flammable_liquid(flash: f64, boiling: f64) -> Option<FlammableLiquid> {
    let celsius = |limit: f64| limit + 273.15;
    if flash.is_nan() || boiling.is_nan() {
        return None;
    }
    if flash < celsius(23.0) - HAIR {
        return Some(if boiling <= celsius(35.0) + HAIR { FlammableLiquid::Category1 } else { FlammableLiquid::Category2 });
    }
    if flash <= celsius(60.0) + HAIR {
        return Some(FlammableLiquid::Category3);
    }
    (flash <= celsius(93.0) + HAIR).then_some(FlammableLiquid::Category4)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn code(flash: f64, boiling: f64) -> Option<&'static str> {
        flammable_liquid(flash + 273.15, boiling + 273.15).map(FlammableLiquid::statement)
    }

    /// Flash and boiling points in °C as bundled with the package `chemicals` 1.5.2 (IEC 60079-20-1, NFPA 497,
    /// DIPPR); criteria of CLP Annex I 2.6 and of the UN GHS.
    #[test]
    fn common_solvents() {
        for (name, flash, boiling, expected) in [
            ("diethyl ether", -45.0, 34.5, "H224"),
            ("acetone", -20.0, 56.1, "H225"),
            ("ethanol", 12.0, 78.4, "H225"),
            ("1-propanol", 15.0, 97.0, "H225"),
            ("1-butanol", 35.0, 117.6, "H226"),
            ("tert-butanol", 10.0, 82.3, "H225"),
            ("1-hexanol", 60.0, 156.9, "H226"),
            ("acetic acid", 39.0, 117.9, "H226"),
            ("acetic anhydride", 49.0, 139.5, "H226"),
            ("ethyl acetate", -4.0, 77.1, "H225"),
            ("isobutyl acetate", 18.0, 116.9, "H225"),
            ("isoamyl acetate", 25.0, 141.6, "H226"),
            ("methyl benzoate", 77.0, 199.0, "H227"),
            ("ethyl benzoate", 87.0, 212.5, "H227"),
            ("1,4-dioxane", 11.0, 101.2, "H225"),
            ("MTBE", -27.0, 55.1, "H225"),
            ("cyclohexane", -17.0, 80.7, "H225"),
            ("cyclohexene", -17.0, 82.9, "H225"),
            ("toluene", 4.0, 110.6, "H225"),
            ("o-xylene", 30.0, 144.4, "H226"),
            ("benzaldehyde", 64.0, 178.7, "H227"),
            ("dibutyl ether", 25.0, 141.6, "H226"),
            ("dimethylformamide", 58.0, 152.8, "H226"),
            ("1-bromobutane", 13.0, 101.4, "H225"),
        ] {
            assert_eq!(code(flash, boiling), Some(expected), "{name}");
        }
    }

    /// Butyl acetate is in dispute: 22 °C (ICSC, so NITE Japan) against 27 °C (suppliers, so the EU).
    #[test]
    fn butyl_acetate_hangs_on_its_flash_point() {
        assert_eq!(code(22.0, 126.0), Some("H225"));
        assert_eq!(code(27.0, 126.0), Some("H226"));
    }

    /// The boundaries as CLP 2.6.1 and UN GHS 2.6 draw them.
    #[test]
    fn boundaries() {
        for (flash, boiling, expected) in [
            (22.9, 35.0, Some("H224")),
            (22.9, 35.1, Some("H225")),
            (23.0, 35.0, Some("H226")),
            (60.0, 100.0, Some("H226")),
            (60.1, 100.0, Some("H227")),
            (93.0, 100.0, Some("H227")),
            (93.1, 100.0, None),
        ] {
            assert_eq!(code(flash, boiling), expected, "flash {flash}, boiling {boiling}");
        }
        assert_eq!(flammable_liquid(f64::NAN, 300.0), None);
    }
}
