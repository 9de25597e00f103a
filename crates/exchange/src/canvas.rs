//! A picture in memory: rectangles, single dots and letters.

use crate::font::{ADVANCE, LETTER_HEIGHT, LETTER_WIDTH, rows};

/// Red, green, blue.
pub(crate) type Colour = [u8; 3];

/// Rows of dots, from the top left.
pub(crate) struct Canvas {
    width: usize,
    height: usize,
    dots: Vec<u8>,
}

impl Canvas {
    pub(crate) fn new(width: usize, height: usize, paper: Colour) -> Self {
        Self { width, height, dots: paper.repeat(width * height) }
    }

    pub(crate) fn width(&self) -> usize {
        self.width
    }

    pub(crate) fn height(&self) -> usize {
        self.height
    }

    /// Three bytes per dot.
    pub(crate) fn bytes(&self) -> &[u8] {
        &self.dots
    }

    /// Colours one dot; outside the picture nothing happens.
    pub(crate) fn dot(&mut self, x: usize, y: usize, colour: Colour) {
        if x < self.width && y < self.height {
            let at = 3 * (y * self.width + x);
            self.dots[at..at + 3].copy_from_slice(&colour);
        }
    }

    pub(crate) fn fill(&mut self, x: usize, y: usize, width: usize, height: usize, colour: Colour) {
        for row in y..y + height {
            for column in x..x + width {
                self.dot(column, row, colour);
            }
        }
    }

    /// A frame one dot thick just outside the rectangle.
    pub(crate) fn frame(&mut self, x: usize, y: usize, width: usize, height: usize, colour: Colour) {
        self.fill(x - 1, y - 1, width + 2, 1, colour);
        self.fill(x - 1, y + height, width + 2, 1, colour);
        self.fill(x - 1, y, 1, height, colour);
        self.fill(x + width, y, 1, height, colour);
    }

    /// Letters from the top left at `x`, `y`, each dot `scale` wide.
    pub(crate) fn text(&mut self, x: usize, y: usize, scale: usize, text: &str, colour: Colour) {
        for (i, letter) in text.chars().enumerate() {
            for (row, bits) in rows(letter).into_iter().enumerate() {
                for column in (0..LETTER_WIDTH).filter(|c| bits >> (LETTER_WIDTH - 1 - c) & 1 == 1) {
                    self.fill(x + (i * ADVANCE + column) * scale, y + row * scale, scale, scale, colour);
                }
            }
        }
    }
}

/// Width of `text` in dots.
pub(crate) fn text_width(text: &str, scale: usize) -> usize {
    (text.chars().count() * ADVANCE).saturating_sub(1) * scale
}

/// Height of a line of text in dots, descenders included.
pub(crate) fn text_height(scale: usize) -> usize {
    LETTER_HEIGHT * scale
}
