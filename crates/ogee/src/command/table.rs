//! Columns of text that stand in line.

/// Sets `rows` in columns, each as wide as its widest cell; columns in `right` end in line, the others begin in line.
pub(super) fn aligned<const N: usize>(rows: &[[String; N]], right: &[usize]) -> String {
    let mut widths = [0; N];
    for row in rows {
        for (width, cell) in widths.iter_mut().zip(row) {
            *width = (*width).max(cell.chars().count());
        }
    }
    let mut out = String::new();
    for row in rows {
        let mut line = String::new();
        for (i, cell) in row.iter().enumerate() {
            let fill = " ".repeat(widths[i] - cell.chars().count());
            line.push_str("  ");
            if right.contains(&i) {
                line.push_str(&fill);
                line.push_str(cell);
            } else {
                line.push_str(cell);
                line.push_str(&fill);
            }
        }
        out.push_str(line.trim_end());
        out.push('\n');
    }
    out
}

/// `text` broken into lines of at most `width` letters, each after `indent`.
pub(super) fn wrapped(text: &str, indent: &str, width: usize) -> String {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let line = lines.last_mut().expect("there is always a line");
        if !line.is_empty() && line.chars().count() + 1 + word.chars().count() > width {
            lines.push(word.to_owned());
        } else {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    lines.into_iter().fold(String::new(), |text, line| text + indent + &line + "\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_stand_in_line() {
        let rows = [["1.2", "µm", "a"], ["10", "", "bc"]].map(|r| r.map(str::to_owned));
        assert_eq!(aligned(&rows, &[0]), "  1.2  µm  a\n   10      bc\n");
    }

    #[test]
    fn long_text_is_broken() {
        assert_eq!(wrapped("one two three", "> ", 7), "> one two\n> three\n");
        assert_eq!(wrapped("", "> ", 7), "> \n");
    }
}
