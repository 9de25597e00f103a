//! Strength and life: brittle layers, glass under long load, metals under cycles.

mod allowable;
mod band;
mod cycle;
mod cycles;
mod duty;
mod error;
mod field;
mod foil;
mod gamma;
mod hold;
mod static_fatigue;
mod strain_life;
mod two_powers;
mod waveform;
mod weibull;

pub use allowable::{Allowable, AllowableRule, BrittleBound};
pub use band::{LifeBand, LifeScatter};
pub use cycle::StrainCycle;
pub use cycles::Cycles;
pub use duty::{DutyBlock, MINER_LIMIT, duty_repeats, miner_damage};
pub use error::LifeError;
pub use field::LifeField;
pub use foil::FoilDuctility;
pub use hold::HoldLife;
pub use static_fatigue::{StaticFatigue, fibre_practice_ratio};
pub use strain_life::StrainLife;
pub use waveform::Waveform;
pub use weibull::{Weibull, failure_of_many, survival_of_many};
