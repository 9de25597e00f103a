//! The library of typical materials and how one finds them.

use super::Material;
use serde::Deserialize;
use std::sync::OnceLock;

/// Typical materials with ranges and sources.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Library {
    title: String,
    how_to_read: String,
    source: String,
    materials: Vec<Material>,
}

/// A material that an id led to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FoundMaterial<'a> {
    /// The material.
    pub material: &'a Material,
    /// Whether the design brought it along; its values then are the user's own.
    pub is_own: bool,
}

/// The library that the program brings along.
///
/// ```
/// use ogee_design::{SuggestionRule, library};
///
/// let silicone = library().search("silicone")[0];
/// let start = silicone.layer_values(Some(1.55));
/// let allowable = start.allowable.expect("its failure strain is known");
/// assert_eq!(allowable.rule, SuggestionRule::ThirdOfFailureStrain);
/// assert!(start.modulus_mpa.expect("a solid") < 5.0);
/// ```
pub fn library() -> &'static Library {
    static LIBRARY: OnceLock<Library> = OnceLock::new();
    LIBRARY.get_or_init(|| {
        serde_json::from_str(include_str!("../../../../assets/materials.json"))
            .expect("the file is part of the program and a test reads it")
    })
}

/// The material with this id: the design's own where it has one, else the library's.
pub fn find_material<'a>(id: &str, own: &'a [Material]) -> Option<FoundMaterial<'a>> {
    own.iter()
        .find(|material| material.id == id)
        .map(|material| FoundMaterial { material, is_own: true })
        .or_else(|| library().find(id).map(|material| FoundMaterial { material, is_own: false }))
}

impl Library {
    /// Title of the collection.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// What the ranges mean and what they are good for.
    pub fn how_to_read(&self) -> &str {
        &self.how_to_read
    }

    /// Where the values come from as a whole; each names its own source.
    pub fn source(&self) -> &str {
        &self.source
    }

    /// All materials, in the order of the file.
    pub fn materials(&self) -> &[Material] {
        &self.materials
    }

    /// The material with this id.
    pub fn find(&self, id: &str) -> Option<&Material> {
        self.materials.iter().find(|material| material.id == id)
    }

    /// Materials in which every word of `text` occurs, best matches first.
    ///
    /// Case does not matter; name, id and class are searched. A word at the start of the name counts most, then one at
    /// the start of a word in it, inside it, in the id, in the class. Without words: all, grouped by class.
    pub fn search(&self, text: &str) -> Vec<&Material> {
        let text = text.to_lowercase();
        let words: Vec<&str> = text.split_whitespace().collect();
        if words.is_empty() {
            let mut all: Vec<&Material> = self.materials.iter().collect();
            all.sort_by_key(|material| material.class);
            return all;
        }
        let mut found: Vec<(u32, &Material)> = self
            .materials
            .iter()
            .filter_map(|material| {
                let distances: Option<Vec<u32>> = words.iter().map(|word| distance(material, word)).collect();
                Some((distances?.iter().sum(), material))
            })
            .collect();
        found.sort_by_key(|(distance, _)| *distance);
        found.into_iter().map(|(_, material)| material).collect()
    }
}

/// How far from the best place a word in lower case was found; nothing where it does not occur.
fn distance(material: &Material, word: &str) -> Option<u32> {
    let name = material.name.to_lowercase();
    if name.starts_with(word) {
        return Some(0);
    }
    if name.split(|c: char| !c.is_alphanumeric()).any(|part| part.starts_with(word)) {
        return Some(1);
    }
    if name.contains(word) {
        return Some(2);
    }
    if material.id.to_lowercase().contains(word) {
        return Some(3);
    }
    material.class.label().contains(word).then_some(4)
}
