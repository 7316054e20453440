//! The table of codes: each rule's code, severity, title and explain page, declared once.

/// How much a finding weighs. Errors come first wherever findings are listed.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Severity {
    /// The procedure cannot be right as it stands: no sheet.
    Error,
    /// A careful colleague would ask about it; it stands on the sheet.
    Warning,
}

impl Severity {
    /// `error` or `warning`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Error => "error",
            Self::Warning => "warning",
        }
    }
}

macro_rules! codes {
    ($($name:ident = $text:literal, $severity:ident, $title:literal, $page:literal;)*) => {
        /// A rule's stable code.
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
        pub enum Code { $(#[doc = $title] $name,)* }

        impl Code {
            /// Every code, in the order of the table.
            pub const ALL: &'static [Code] = &[$(Code::$name,)*];

            /// The code as it is printed and asked for, `phase::name`.
            #[must_use]
            pub fn text(self) -> &'static str { match self { $(Code::$name => $text,)* } }

            /// How much it weighs.
            #[must_use]
            pub fn severity(self) -> Severity { match self { $(Code::$name => Severity::$severity,)* } }

            /// What the rule is about, in a few words.
            #[must_use]
            pub fn title(self) -> &'static str { match self { $(Code::$name => $title,)* } }

            /// The page that explains it, in Markdown.
            #[must_use]
            pub fn page(self) -> &'static str { match self { $(Code::$name => include_str!(concat!("explain/", $page, ".md")),)* } }
        }
    };
}

codes! {
    // Reading the text.
    SyntaxExpected = "syntax::expected", Error, "something else belongs here", "syntax-expected";
    SyntaxSlip = "syntax::slip", Error, "a slip of the pen that would be read as something else", "syntax-slip";
    SyntaxBrace = "syntax::brace", Error, "a brace that is missing or one too many", "syntax-brace";
    SyntaxText = "syntax::text", Error, "a text that is never closed", "syntax-text";
    SyntaxNotText = "syntax::not_text", Error, "bytes that are not text", "syntax-not_text";
    SyntaxTooLarge = "syntax::too_large", Error, "nested too deep, or too long to be meant", "syntax-too_large";

    // Names.
    UnknownOperation = "resolve::unknown_operation", Error, "an operation that nothing declares", "resolve-unknown_operation";
    UnknownSubstance = "resolve::unknown_substance", Error, "a substance that nothing declares", "resolve-unknown_substance";
    UnknownName = "resolve::unknown_name", Error, "a name that stands for nothing here", "resolve-unknown_name";
    UnknownReaction = "resolve::unknown_reaction", Error, "a reaction that is not declared", "resolve-unknown_reaction";
    UnknownApparatus = "resolve::unknown_apparatus", Error, "apparatus that nothing declares", "resolve-unknown_apparatus";
    UnknownGrade = "resolve::unknown_grade", Error, "a grade that the material does not have", "resolve-unknown_grade";
    UnknownField = "resolve::unknown_field", Error, "a field that a declaration of this sort does not have", "resolve-unknown_field";
    Ambiguous = "resolve::ambiguous", Error, "a name with two readings", "resolve-ambiguous";
    Duplicate = "resolve::duplicate", Error, "one name declared twice", "resolve-duplicate";
    MissingFile = "resolve::missing_file", Error, "a file that cannot be read", "resolve-missing_file";
    NoProcedure = "resolve::no_procedure", Error, "no procedure, or none of that name", "resolve-no_procedure";
    VariantReplacesNothing = "resolve::variant_replaces_nothing", Error, "a variant that replaces what the procedure does not have", "resolve-variant_replaces_nothing";
    BadForm = "resolve::bad_form", Error, "a declared operation that does not hold together", "resolve-bad_form";

    // Kinds and units.
    Mismatch = "kinds::mismatch", Error, "a quantity of the wrong kind", "kinds-mismatch";
    PercentOfWhat = "kinds::percent_of_what", Error, "a percentage that does not say of what", "kinds-percent_of_what";
    AmbiguousUnit = "kinds::ambiguous_unit", Error, "a unit with more than one meaning", "kinds-ambiguous_unit";
    UnknownUnit = "kinds::unknown_unit", Error, "a unit that is not known", "kinds-unknown_unit";
    MissingUnit = "kinds::missing_unit", Error, "a number without its unit", "kinds-missing_unit";
    OutOfRange = "kinds::out_of_range", Error, "a figure that cannot be", "kinds-out_of_range";

    // Matter.
    UsedTwice = "matter::used_twice", Error, "a portion that is used twice", "matter-used_twice";
    NeverUsed = "matter::never_used", Error, "a portion that is never dealt with", "matter-never_used";
    SinglePhase = "matter::single_phase", Error, "two layers claimed where there is one liquid", "matter-single_phase";
    UnnamedResult = "matter::unnamed_result", Error, "a result that holds something and has no name", "matter-unnamed_result";
    OnlyIf = "matter::only_if", Error, "a step that may be left out, and on which matter depends", "matter-only_if";
    EmptyResult = "matter::empty_result", Warning, "a result that would hold next to nothing", "matter-empty_result";

    // Reactions.
    Unbalanced = "reaction::unbalanced", Error, "an equation that does not balance", "reaction-unbalanced";
    CannotRun = "reaction::cannot_run", Error, "a reaction whose reactants are not there", "reaction-cannot_run";
    NoCatalyst = "reaction::no_catalyst", Warning, "the named catalyst is not there", "reaction-no_catalyst";
    Unstated = "reaction::unstated", Warning, "what reacts with heat, and no reaction of it", "reaction-unstated";
    NeverRuns = "reaction::never_runs", Warning, "a reaction that no operation runs", "reaction-never_runs";

    // Amounts.
    Cycle = "amounts::cycle", Error, "amounts that depend on each other in a circle", "amounts-cycle";
    CannotSize = "amounts::cannot_size", Error, "an amount that nothing decides", "amounts-cannot_size";
    NotLimiting = "amounts::not_limiting", Warning, "the basis is not what runs out first", "amounts-not_limiting";
    OutOfReach = "amounts::out_of_reach", Error, "a batch that cannot be had", "amounts-out_of_reach";
    Disagree = "amounts::disagree", Warning, "figures of one amount that do not agree", "amounts-disagree";
    PaceDiffers = "amounts::pace", Warning, "a time and a rate of one addition that do not go together", "amounts-pace";
    NotStated = "amounts::not_stated", Warning, "a figure that the source does not state", "amounts-not_stated";
    FixedAmount = "amounts::fixed", Warning, "a fixed amount of what follows the batch", "amounts-fixed";
    TooCoarse = "amounts::too_coarse", Warning, "an amount too small for what measures it", "amounts-too_coarse";

    // Records.
    RecordProcedure = "record::procedure", Error, "a record of a procedure that is not here", "record-procedure";
    RecordImpossible = "record::impossible", Error, "a record of what cannot have been", "record-impossible";
    RecordInstrument = "record::instrument", Error, "an instrument that cannot have measured this", "record-instrument";
    RecordAboveTheory = "record::above_theory", Warning, "more of a product than can have been made", "record-above_theory";
    RecordWet = "record::wet", Warning, "a portion that must hold something else", "record-wet";
    RecordStated = "record::stated", Warning, "a figure of a source that does not follow from its others", "record-stated";

    // What the author allows.
    AllowsNothing = "allow::nothing_silenced", Warning, "an `allow` that silences nothing", "allow-nothing_silenced";
    CannotAllow = "allow::cannot", Error, "an `allow` of what cannot be allowed", "allow-cannot";

    // What is known.
    VapourPressure = "data::vapour_pressure", Warning, "a vapour pressure where its equation does not hold", "data-vapour_pressure";
    NotKnown = "data::not_known", Error, "a property that is needed and not known", "data-not_known";

    // Judging.
    DryingAgent = "capacity::drying_agent", Error, "more water than the drying agent holds", "capacity-drying_agent";
    BaseShort = "capacity::base_short", Warning, "a basic wash too weak for the acid that is there", "capacity-base_short";
    WrongSide = "layers::wrong_side", Error, "the layers lie the other way round", "layers-wrong_side";
    TooClose = "layers::too_close", Warning, "layers too close in density to call", "layers-too_close";
    Overfilled = "apparatus::overfilled", Error, "a vessel filled past its limit", "apparatus-overfilled";
    NoSize = "apparatus::no_size", Error, "no size of this vessel fits", "apparatus-no_size";
    BedTooLarge = "apparatus::bed_too_large", Error, "a bed that does not fit into its extractor", "apparatus-bed_too_large";
    NotForBoiling = "apparatus::not_for_boiling", Error, "a vessel that is not for boiling", "apparatus-not_for_boiling";
    Closed = "apparatus::closed", Error, "gas, heat or vapour in a closed vessel", "apparatus-closed";
    MeansOutOfRange = "apparatus::out_of_range", Error, "a bath that does not reach the temperature", "apparatus-out_of_range";
    Condenser = "apparatus::condenser", Warning, "cold water in a hot condenser", "apparatus-condenser";
    SiphonNotReached = "apparatus::siphon_not_reached", Error, "the charge cannot reach the siphon", "apparatus-siphon_not_reached";
    AgentDestroyed = "compatibility::agent_destroyed", Error, "an agent meets what destroys it", "compatibility-agent_destroyed";
    Together = "compatibility::together", Warning, "two things that do not go together", "compatibility-together";
    AboveBoiling = "temperature::above_boiling", Error, "an open vessel held above the boiling point", "temperature-above_boiling";
    NearFlash = "temperature::near_flash", Warning, "an open vessel held near the flash point", "temperature-near_flash";
    Flame = "temperature::flame", Error, "a flame and something flammable", "temperature-flame";
    TooVolatile = "temperature::too_volatile", Warning, "a liquid that its condenser hardly holds back", "temperature-too_volatile";
    ToDryness = "temperature::to_dryness", Warning, "a peroxide former taken nearly to dryness", "temperature-to_dryness";
    WetBed = "temperature::wet_bed", Error, "a bed heated while it still holds solvent", "temperature-wet_bed";
    NotDissolved = "matter::not_dissolved", Warning, "a solid that does not dissolve in what it is given", "matter-not_dissolved";
    DoseShort = "capacity::dose_short", Warning, "an end point that is not reached", "capacity-dose_short";
    AbsorberShort = "capacity::absorber_short", Error, "an absorber that cannot hold the gas", "capacity-absorber_short";
    TooFast = "temperature::too_fast", Warning, "an addition faster than its bath cools", "temperature-too_fast";
    HeaterTooWeak = "temperature::heater_too_weak", Error, "a heater that never brings it to the temperature", "temperature-heater_too_weak";
    BathTooCold = "temperature::bath_too_cold", Error, "a bath below what is to boil", "temperature-bath_too_cold";
    TooMuchCarbon = "capacity::too_much_carbon", Warning, "more charcoal than takes the colour", "capacity-too_much_carbon";
    TooShort = "capacity::too_short", Warning, "too little time over a drying agent", "capacity-too_short";
    DryVapour = "capacity::dry_vapour", Warning, "a vapour that carries little water off", "capacity-dry_vapour";
    BoiledTooShort = "capacity::boiled_too_short", Warning, "too little time to carry the water off", "capacity-boiled_too_short";
    SteamShort = "capacity::steam_short", Warning, "too little steam to carry it all over", "capacity-steam_short";
    NothingBoils = "temperature::nothing_boils", Error, "nothing boils in the range to be collected", "temperature-nothing_boils";
    NotDried = "order::not_dried", Warning, "a washed liquid distilled without drying", "order-not_dried";
    AgentLeftIn = "order::agent_left_in", Warning, "a drying agent heated in the liquid", "order-agent_left_in";
    AcidDistilled = "order::acid_distilled", Warning, "strong acid still present at a distillation", "order-acid_distilled";
    IntoHot = "order::into_hot", Warning, "something added to what is too hot for it", "order-into_hot";
    WouldBoil = "temperature::would_boil", Warning, "heat that would make it boil or nearly", "temperature-would_boil";
    OntoReagent = "order::onto_reagent", Warning, "water or alcohol added to what reacts with it", "order-onto_reagent";
    WaterIntoAcid = "order::water_into_acid", Warning, "water added to strong acid", "order-water_into_acid";
    Mislabelled = "waste::mislabelled", Error, "a waste label that does not fit the contents", "waste-mislabelled";
    UnknownWord = "waste::unknown_word", Warning, "a word of a waste label that nothing declares", "waste-unknown_word";
    WasteTogether = "waste::together", Error, "two things in one waste that do not go together", "waste-together";
    NothingKept = "yield::nothing_kept", Error, "the product of the reaction is not kept", "yield-nothing_kept";
    AboveTheory = "yield::above_theory", Error, "a yield above theory", "yield-above_theory";
    YieldDisagrees = "yield::disagrees", Warning, "a mass and a percentage of one yield that do not agree", "yield-disagrees";
    IdentityDiffers = "yield::identity", Warning, "a product that would not be what it is called", "yield-identity";
    LostInWash = "yield::lost_in_wash", Warning, "a layer thrown away that takes product along", "yield-lost_in_wash";
    ThrownAway = "yield::thrown_away", Warning, "product in a waste", "yield-thrown_away";
    WetProduct = "yield::wet_product", Warning, "a product that is kept wet", "yield-wet_product";
    // The bench.
    NoBench = "bench::none", Error, "no bench where one is asked for", "bench-none";
    BenchEmpty = "bench::empty", Error, "a bench with nothing on it", "bench-empty";
    BenchMissing = "bench::missing", Warning, "something that the work needs and the bench lacks", "bench-missing";
    InUse = "bench::in_use", Error, "one vessel for two things at once", "bench-in_use";
    StockShort = "bench::short", Warning, "more than there is in stock", "bench-short";
    StockGrade = "bench::grade", Warning, "a grade that the stock is not", "bench-grade";
    TooEmpty = "bench::too_empty", Warning, "a vessel that stays nearly empty", "bench-too_empty";

    // Routes.
    NoRoute = "route::none", Error, "no route, or one without stages", "route-none";
    RouteCircle = "route::circle", Error, "stages that wait for each other", "route-circle";
    RouteUnused = "route::unused", Error, "a stage whose product nothing uses", "route-unused";
    RouteNoProduct = "route::no_product", Error, "a stage without a product to go on with", "route-no_product";
    RouteOtherSubstance = "route::other_substance", Error, "a take of something else than the earlier stage prepares", "route-other_substance";
    RouteImpure = "route::impure", Error, "a product below the grade that the next stage asks for", "route-impure";
    RouteDoesNotFit = "route::does_not_fit", Error, "a stage that works in no number of runs", "route-does_not_fit";

    Scaling = "scale::does_not_follow", Warning, "a step that does not follow the batch", "scale-does_not_follow";
}

impl Code {
    /// The code of that text, if there is one.
    #[must_use]
    pub fn from_text(text: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|code| code.text() == text)
    }

    /// Whether an author may stand by it with an `allow`: a warning, or the verdict of a judge. An
    /// error of reading or of matter cannot be stood by, since nothing further follows from it.
    #[must_use]
    pub fn can_be_allowed(self) -> bool {
        const JUDGED: [&str; 9] = ["capacity", "layers", "apparatus", "compatibility", "temperature", "order", "waste", "yield", "scale"];
        self.phase() != "allow" && (self.severity() == Severity::Warning || JUDGED.contains(&self.phase()))
    }

    /// The part before `::`, the family of rules.
    #[must_use]
    pub fn phase(self) -> &'static str {
        self.text().split("::").next().unwrap_or("")
    }
}
