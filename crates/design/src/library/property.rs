//! The numeric properties of a material: key, label, unit and what is possible, in one list.

use super::{Material, Value};

macro_rules! properties {
    ($($variant:ident = $key:ident, $label:literal, $unit:literal, [$least:expr, $greatest:expr];)*) => {
        /// One numeric property of a [`Material`].
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Property {
            $(#[doc = $label] $variant,)*
        }

        impl Property {
            /// All properties, in the order of the file.
            pub const ALL: &[Self] = &[$(Self::$variant),*];

            /// Key of the property in a file.
            pub fn key(self) -> &'static str {
                match self { $(Self::$variant => stringify!($key),)* }
            }

            /// The name as people read it.
            pub fn label(self) -> &'static str {
                match self { $(Self::$variant => $label,)* }
            }

            /// Unit of the number; empty for a plain one.
            pub fn unit(self) -> &'static str {
                match self { $(Self::$variant => $unit,)* }
            }

            /// Least and greatest value that is possible, both included.
            pub fn limits(self) -> [f64; 2] {
                match self { $(Self::$variant => [$least, $greatest],)* }
            }
        }

        impl Material {
            /// A property, where it is known.
            pub fn value(&self, property: Property) -> Option<&Value> {
                match property { $(Property::$variant => self.$key.as_ref(),)* }
            }

            /// A property, to be set or removed.
            pub fn value_mut(&mut self, property: Property) -> &mut Option<Value> {
                match property { $(Property::$variant => &mut self.$key,)* }
            }
        }
    };
}

properties! {
    Modulus = modulus_mpa, "Young's modulus", "MPa", [1e-4, 2e6];
    BiaxialModulus = biaxial_modulus_mpa, "Biaxial modulus", "MPa", [1e-4, 4e6];
    PoissonRatio = poisson_ratio, "Poisson's ratio", "", [-0.99, 0.4999];
    Expansion = cte_ppm_per_k, "Thermal expansion", "1e-6/K", [-100.0, 2000.0];
    Density = density_kg_per_m3, "Density", "kg/m³", [0.1, 30_000.0];
    FailureStrain = failure_strain, "Failure strain", "", [1e-6, 20.0];
    YieldStrain = yield_strain, "Yield strain", "", [1e-6, 10.0];
    Strength = strength_mpa, "Tensile strength", "MPa", [1e-4, 1e5];
    FractureToughness = toughness_mpa_sqrt_m, "Fracture toughness", "MPa√m", [1e-5, 1000.0];
    WeibullModulus = weibull_modulus, "Weibull modulus", "", [0.5, 1000.0];
    StaticFatigue = static_fatigue_n, "Exponent of slow crack growth", "", [2.0, 1000.0];
    IntrinsicStress = intrinsic_stress_mpa, "Intrinsic stress", "MPa", [-1e5, 1e5];
    RefractiveIndex = refractive_index, "Refractive index", "", [1.0, 6.0];
    ThermalConductivity = thermal_conductivity_w_per_m_k, "Thermal conductivity", "W/(m K)", [1e-4, 1e4];
    Resistivity = resistivity_ohm_m, "Resistivity", "Ω m", [1e-9, 1e20];
    TemperatureCoefficient = temp_coeff_per_k, "Temperature coefficient of resistivity", "1/K", [-0.1, 0.1];
    MeanFreePath = mean_free_path_nm, "Mean free path of electrons", "nm", [0.01, 1e5];
    GaugeFactor = gauge_factor, "Gauge factor", "", [-1e4, 1e5];
    GlassTransition = glass_transition_c, "Glass transition", "°C", [-273.0, 2000.0];
    MeltingPoint = melting_point_c, "Melting point", "°C", [-273.0, 4500.0];
}

impl Material {
    /// All properties that are known, in the order of the file.
    pub fn values(&self) -> impl Iterator<Item = (Property, &Value)> {
        Property::ALL.iter().filter_map(|&property| Some((property, self.value(property)?)))
    }

    /// The typical value of a property, where it is known, in the property's unit.
    pub fn typical(&self, property: Property) -> Option<f64> {
        self.value(property).map(|value| value.typical)
    }
}
