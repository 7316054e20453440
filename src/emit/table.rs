//! Plain tables for a terminal: columns aligned, the first to the left, figures to the right.

/// A table; every row has as many cells as the head.
pub struct Table {
    rows: Vec<Vec<String>>,
    /// Columns that stand to the left beside the first.
    left: Vec<usize>,
}

impl Table {
    /// With the heads of its columns, of which those numbered in `left` hold words.
    #[must_use]
    pub fn new<S: Into<String>>(head: impl IntoIterator<Item = S>, left: &[usize]) -> Self {
        Self { rows: vec![head.into_iter().map(Into::into).collect()], left: left.to_vec() }
    }

    /// Adds a row.
    pub fn row<S: Into<String>>(&mut self, cells: impl IntoIterator<Item = S>) {
        self.rows.push(cells.into_iter().map(Into::into).collect());
    }

    /// The table, two blanks between columns, no blanks at the ends of lines.
    #[must_use]
    pub fn text(&self) -> String {
        let columns = self.rows.iter().map(Vec::len).max().unwrap_or(0);
        let width = |column: usize| self.rows.iter().filter_map(|row| row.get(column)).map(|cell| cell.chars().count()).max().unwrap_or(0);
        let widths: Vec<usize> = (0..columns).map(width).collect();
        let mut out = String::new();
        for row in &self.rows {
            let mut line = String::new();
            for (column, (cell, width)) in row.iter().zip(&widths).enumerate() {
                let blanks = " ".repeat(width - cell.chars().count());
                if column > 0 {
                    line.push_str("  ");
                }
                let to_left = column == 0 || self.left.contains(&column);
                if !to_left {
                    line.push_str(&blanks);
                }
                line.push_str(cell);
                if to_left {
                    line.push_str(&blanks);
                }
            }
            out.push_str("  ");
            out.push_str(line.trim_end());
            out.push('\n');
        }
        out
    }
}

/// Sentences as a paragraph, in lines of at most eighty characters.
#[must_use]
pub fn paragraph(text: &str) -> String {
    let mut out = String::new();
    let mut width = 0;
    for word in text.split_whitespace() {
        let length = word.chars().count();
        if width > 0 {
            let fits = width + 1 + length <= 80;
            out.push(if fits { ' ' } else { '\n' });
            width = if fits { width + 1 } else { 0 };
        }
        out.push_str(word);
        width += length;
    }
    out.push('\n');
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_stand_under_each_other() {
        let mut table = Table::new(["", "by mass", "note"], &[2]);
        table.row(["water", "4.3 %", "x"]);
        table.row(["ethanol", "95.7 %", ""]);
        assert_eq!(table.text(), "           by mass  note\n  water      4.3 %  x\n  ethanol   95.7 %\n");
        assert_eq!(paragraph(&"word ".repeat(20)), format!("{}\n{}\n", ["word"; 16].join(" "), ["word"; 4].join(" ")));
    }
}
