//! Cracks in brittle films, and wrinkles of stiff ones.

mod channel;
mod error;
mod factor;
mod monotone;
mod solid;
mod wrinkle;

pub use channel::{ChannelCrack, CrackBase, CrackNumbers, CrackVerdict, Uncovered};
pub use error::{CrackError, CrackField};
pub use factor::{CRACK_FACTOR_ALPHA, crack_factor, dundurs_alpha};
pub use solid::Solid;
pub use wrinkle::{Wrinkle, wrinkle_length_um, wrinkle_strain};
