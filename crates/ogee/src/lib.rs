//! Ogee.
