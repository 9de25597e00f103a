//! Laws of the session.
