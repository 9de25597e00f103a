//! Ogee.
fn main() {}
