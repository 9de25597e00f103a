//! What a section is made of: layers, fillers and rows.

/// One layer: a rectangle of the section, before it is checked and stacked.
#[derive(Clone, Debug, PartialEq)]
pub struct Layer {
    /// Name, repeated in errors and in the strain report.
    pub name: String,
    /// Width along y, µm.
    pub width_um: f64,
    /// Thickness along z, µm.
    pub thickness_um: f64,
    /// y of its middle, µm from the centreline, positive towards the left edge.
    pub offset_um: f64,
    /// Young's modulus, `MPa`.
    pub modulus_mpa: f64,
    /// Poisson's ratio, dimensionless, between −1 and 0.5.
    pub poisson: f64,
}

impl Layer {
    /// A layer centred on the ribbon; nothing is checked before [`Section::new`](crate::Section::new).
    pub fn new(
        name: impl Into<String>,
        width_um: f64,
        thickness_um: f64,
        modulus_mpa: f64,
        poisson: f64,
    ) -> Self {
        Self { name: name.into(), width_um, thickness_um, offset_um: 0.0, modulus_mpa, poisson }
    }

    /// The same layer with its middle at `offset_um` from the centreline.
    #[must_use]
    pub fn with_offset(mut self, offset_um: f64) -> Self {
        self.offset_um = offset_um;
        self
    }
}

/// The material that fills both sides of a row next to its core.
#[derive(Clone, Debug, PartialEq)]
pub struct Filler {
    /// Name, repeated in errors and in the strain report.
    pub name: String,
    /// Young's modulus, `MPa`.
    pub modulus_mpa: f64,
    /// Poisson's ratio, dimensionless, between −1 and 0.5.
    pub poisson: f64,
    /// Width of the filled row, centred on the ribbon, µm; the ribbon's width where absent.
    pub width_um: Option<f64>,
}

impl Filler {
    /// A filler that reaches both edges of the ribbon.
    pub fn new(name: impl Into<String>, modulus_mpa: f64, poisson: f64) -> Self {
        Self { name: name.into(), modulus_mpa, poisson, width_um: None }
    }

    /// The same filler reaching to ±`width_um`/2 only, for a narrow stack on a wide carrier.
    #[must_use]
    pub fn with_width(mut self, width_um: f64) -> Self {
        self.width_um = Some(width_um);
        self
    }
}

/// One row of the stack: a layer, with its sides open or filled to the same thickness.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The layer, core or trace.
    pub core: Layer,
    /// What fills its sides; open (nothing) where absent.
    pub filler: Option<Filler>,
}

impl Row {
    /// A row with nothing beside its layer.
    pub fn open(core: Layer) -> Self {
        Self { core, filler: None }
    }

    /// A row whose sides are filled by another material.
    pub fn filled(core: Layer, filler: Filler) -> Self {
        Self { core, filler: Some(filler) }
    }
}

impl From<Layer> for Row {
    fn from(core: Layer) -> Self {
        Self::open(core)
    }
}

/// Which modulus resists stretch and bending along the ribbon.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum ModulusKind {
    /// E: a ribbon that is free to contract across its width, as narrow ribbons are.
    #[default]
    Beam,
    /// E/(1 − ν²): a foil too wide to contract across, bent about one axis.
    PlaneStrain,
}

impl ModulusKind {
    /// The modulus that acts along the ribbon, `MPa`.
    ///
    /// * `modulus_mpa`: Young's modulus. `poisson`: Poisson's ratio, between −1 and 0.5.
    pub fn effective_mpa(self, modulus_mpa: f64, poisson: f64) -> f64 {
        match self {
            Self::Beam => modulus_mpa,
            Self::PlaneStrain => modulus_mpa / (1.0 - poisson * poisson),
        }
    }
}
