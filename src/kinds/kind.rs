//! What a chemist means by a number.

use super::dimension::Dimension;

/// What sort of thing a quantity is.
///
/// Kinds stay apart even where dimensions agree: a density and a mass of
/// solute per volume are both kg/m³, and only one of them may be multiplied by
/// the volume of a bottle to give the mass of the bottle's contents.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Kind {
    /// Mass, in kg.
    Mass,
    /// Volume, in m³.
    Volume,
    /// Amount of substance, in mol.
    Amount,
    /// A length of time, in s.
    Duration,
    /// A point on the temperature scale, in K; not a difference of two.
    Temperature,
    /// A difference of two temperatures, in K.
    TemperatureDifference,
    /// Pressure, in Pa.
    Pressure,
    /// Energy, heat included, in J.
    Energy,
    /// Power, in W.
    Power,
    /// Length, in m.
    Length,
    /// Mass of a whole substance per its volume (g/mL, g/L), in kg/m³.
    Density,
    /// Volume per mass (mL/g), in m³/kg.
    SpecificVolume,
    /// Amount of solute per volume of solution (mol/L, M), in mol/m³.
    Concentration,
    /// Amount per mass (molality, or the loading of a resin), in mol/kg.
    Molality,
    /// Mass per amount, in kg/mol.
    MolarMass,
    /// Volume per amount, in m³/mol.
    MolarVolume,
    /// Energy per amount, in J/mol.
    MolarEnergy,
    /// Heat capacity per amount, in J/(mol K).
    MolarHeatCapacity,
    /// Heat capacity per mass, in J/(kg K).
    SpecificHeatCapacity,
    /// Heat capacity of a body, in J/K.
    HeatCapacity,
    /// Energy per mass (a latent heat), in J/kg.
    SpecificEnergy,
    /// Mass of a part over mass of the whole, as a number from 0 to 1.
    MassFraction,
    /// Volume of a part over volume of the whole, as a number from 0 to 1.
    VolumeFraction,
    /// Mass of solute per volume of solution (% w/v: g per 100 mL), in kg/m³.
    MassPerVolume,
    /// Amount of a part over a reference amount, as a number from 0 to 1.
    MoleFraction,
    /// Molar equivalents relative to a reference substance.
    Equivalents,
    /// A bare percentage or a plain number.
    Ratio,
    /// How many times, or how many portions.
    Count,
    /// Turns or cycles per time, in 1/s.
    Frequency,
    /// Volume per time, in m³/s.
    FlowRate,
    /// Temperature difference per time, in K/s.
    HeatingRate,
    /// Volume per amount and time: the constant of a rate of second order, in m³/(mol s).
    RateConstant,
}

impl Kind {
    /// Every kind, in the order of declaration.
    pub const ALL: &[Self] = &[
        Self::Mass,
        Self::Volume,
        Self::Amount,
        Self::Duration,
        Self::Temperature,
        Self::TemperatureDifference,
        Self::Pressure,
        Self::Energy,
        Self::Power,
        Self::Length,
        Self::Density,
        Self::SpecificVolume,
        Self::Concentration,
        Self::Molality,
        Self::MolarMass,
        Self::MolarVolume,
        Self::MolarEnergy,
        Self::MolarHeatCapacity,
        Self::SpecificHeatCapacity,
        Self::HeatCapacity,
        Self::SpecificEnergy,
        Self::MassFraction,
        Self::VolumeFraction,
        Self::MassPerVolume,
        Self::MoleFraction,
        Self::Equivalents,
        Self::Ratio,
        Self::Count,
        Self::Frequency,
        Self::FlowRate,
        Self::HeatingRate,
        Self::RateConstant,
    ];

    /// The exponents of the SI base units.
    pub fn dimension(self) -> Dimension {
        match self {
            Self::Mass => Dimension::new(1, 0, 0, 0, 0),
            Self::Volume => Dimension::new(0, 3, 0, 0, 0),
            Self::Amount => Dimension::new(0, 0, 0, 0, 1),
            Self::Duration => Dimension::new(0, 0, 1, 0, 0),
            Self::Temperature | Self::TemperatureDifference => Dimension::new(0, 0, 0, 1, 0),
            Self::Pressure => Dimension::new(1, -1, -2, 0, 0),
            Self::Energy => Dimension::new(1, 2, -2, 0, 0),
            Self::Power => Dimension::new(1, 2, -3, 0, 0),
            Self::Length => Dimension::new(0, 1, 0, 0, 0),
            Self::Density | Self::MassPerVolume => Dimension::new(1, -3, 0, 0, 0),
            Self::SpecificVolume => Dimension::new(-1, 3, 0, 0, 0),
            Self::Concentration => Dimension::new(0, -3, 0, 0, 1),
            Self::Molality => Dimension::new(-1, 0, 0, 0, 1),
            Self::MolarMass => Dimension::new(1, 0, 0, 0, -1),
            Self::MolarVolume => Dimension::new(0, 3, 0, 0, -1),
            Self::MolarEnergy => Dimension::new(1, 2, -2, 0, -1),
            Self::MolarHeatCapacity => Dimension::new(1, 2, -2, -1, -1),
            Self::SpecificHeatCapacity => Dimension::new(0, 2, -2, -1, 0),
            Self::HeatCapacity => Dimension::new(1, 2, -2, -1, 0),
            Self::SpecificEnergy => Dimension::new(0, 2, -2, 0, 0),
            Self::MassFraction | Self::VolumeFraction | Self::MoleFraction | Self::Equivalents | Self::Ratio | Self::Count => {
                Dimension::NONE
            }
            Self::Frequency => Dimension::new(0, 0, -1, 0, 0),
            Self::FlowRate => Dimension::new(0, 3, -1, 0, 0),
            Self::HeatingRate => Dimension::new(0, 0, -1, 1, 0),
            Self::RateConstant => Dimension::new(0, 3, -1, 0, -1),
        }
    }

    /// The kind as a sentence names it, article included: `a mass`.
    pub fn article_name(self) -> &'static str {
        match self {
            Self::Mass => "a mass",
            Self::Volume => "a volume",
            Self::Amount => "an amount of substance",
            Self::Duration => "a duration",
            Self::Temperature => "a temperature",
            Self::TemperatureDifference => "a temperature difference",
            Self::Pressure => "a pressure",
            Self::Energy => "an energy",
            Self::Power => "a power",
            Self::Length => "a length",
            Self::Density => "a density",
            Self::SpecificVolume => "a volume per mass",
            Self::Concentration => "a concentration",
            Self::Molality => "an amount per mass",
            Self::MolarMass => "a molar mass",
            Self::MolarVolume => "a molar volume",
            Self::MolarEnergy => "an energy per amount",
            Self::MolarHeatCapacity => "a molar heat capacity",
            Self::SpecificHeatCapacity => "a specific heat capacity",
            Self::HeatCapacity => "a heat capacity",
            Self::SpecificEnergy => "an energy per mass",
            Self::MassFraction => "a mass fraction",
            Self::VolumeFraction => "a volume fraction",
            Self::MassPerVolume => "a mass of solute per volume",
            Self::MoleFraction => "a mole fraction",
            Self::Equivalents => "a number of equivalents",
            Self::Ratio => "a plain ratio",
            Self::Count => "a count",
            Self::Frequency => "a rate of turning",
            Self::FlowRate => "a flow rate",
            Self::HeatingRate => "a heating rate",
            Self::RateConstant => "a rate constant of second order",
        }
    }

    /// A value of this kind as a procedure would write it: `5 g`.
    pub fn example(self) -> &'static str {
        match self {
            Self::Mass => "5 g",
            Self::Volume => "25 mL",
            Self::Amount => "10 mmol",
            Self::Duration => "20 min",
            Self::Temperature => "25 degC",
            Self::TemperatureDifference => "10 K",
            Self::Pressure => "20 mbar",
            Self::Energy => "5 kJ",
            Self::Power => "40 W",
            Self::Length => "15 cm",
            Self::Density => "0.789 g/mL",
            Self::SpecificVolume => "5 mL/g",
            Self::Concentration => "0.5 mol/L",
            Self::Molality => "0.5 mol/kg",
            Self::MolarMass => "58.44 g/mol",
            Self::MolarVolume => "24 L/mol",
            Self::MolarEnergy => "57 kJ/mol",
            Self::MolarHeatCapacity => "75 J/(mol K)",
            Self::SpecificHeatCapacity => "4.18 J/(g K)",
            Self::HeatCapacity => "850 J/K",
            Self::SpecificEnergy => "334 J/g",
            Self::MassFraction => "37 % w/w",
            Self::VolumeFraction => "70 % v/v",
            Self::MassPerVolume => "0.9 % w/v",
            Self::MoleFraction => "5 mol%",
            Self::Equivalents => "1.2 eq",
            Self::Ratio => "85 %",
            Self::Count => "3 times",
            Self::Frequency => "300 rpm",
            Self::FlowRate => "2 mL/min",
            Self::HeatingRate => "2 K/min",
            Self::RateConstant => "2e-5 L/mol/s",
        }
    }

    /// The SI unit values of this kind are held in; empty for a plain number.
    pub fn si_symbol(self) -> &'static str {
        match self {
            Self::Mass => "kg",
            Self::Volume => "m³",
            Self::Amount => "mol",
            Self::Duration => "s",
            Self::Temperature | Self::TemperatureDifference => "K",
            Self::Pressure => "Pa",
            Self::Energy => "J",
            Self::Power => "W",
            Self::Length => "m",
            Self::Density | Self::MassPerVolume => "kg/m³",
            Self::SpecificVolume => "m³/kg",
            Self::Concentration => "mol/m³",
            Self::Molality => "mol/kg",
            Self::MolarMass => "kg/mol",
            Self::MolarVolume => "m³/mol",
            Self::MolarEnergy => "J/mol",
            Self::MolarHeatCapacity => "J/(mol K)",
            Self::SpecificHeatCapacity => "J/(kg K)",
            Self::HeatCapacity => "J/K",
            Self::SpecificEnergy => "J/kg",
            Self::MassFraction | Self::VolumeFraction | Self::MoleFraction | Self::Ratio | Self::Count => "",
            Self::Equivalents => "eq",
            Self::Frequency => "1/s",
            Self::FlowRate => "m³/s",
            Self::HeatingRate => "K/s",
            Self::RateConstant => "m³/(mol s)",
        }
    }
}
