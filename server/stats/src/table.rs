//! The shape of a table.

use super::cannot::Cannot;

/// The numbers of tasters and teas of a rectangular table, at least so many of each.
pub(super) fn size<T>(rows: &[Vec<T>], tasters: usize, teas: usize) -> Result<(usize, usize), Cannot> {
    let columns = rows.first().map_or(0, Vec::len);
    if rows.iter().any(|row| row.len() != columns) {
        Err(Cannot::Uneven)
    } else if rows.len() < tasters {
        Err(Cannot::Tasters(tasters))
    } else if columns < teas {
        Err(Cannot::Teas(teas))
    } else {
        Ok((rows.len(), columns))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_that_are_no_tables_are_refused_with_the_reason() {
        assert_eq!(size(&[vec![1.0, 2.0], vec![1.0]], 2, 2), Err(Cannot::Uneven));
        assert_eq!(size::<f64>(&[], 2, 2), Err(Cannot::Tasters(2)));
        assert_eq!(size(&[vec![1.0], vec![1.0]], 2, 2), Err(Cannot::Teas(2)));
        assert_eq!(size(&[vec![1.0, 2.0, 3.0], vec![1.0, 2.0, 3.0]], 2, 2), Ok((2, 3)));
    }
}
