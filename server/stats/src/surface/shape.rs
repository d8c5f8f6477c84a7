//! Which terms a surface has.

use schemars::JsonSchema;
use serde::Serialize;

/// One term of a surface; factors are numbered from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Term {
    /// A factor itself.
    Slope(usize),
    /// The product of two factors, the lower number first.
    Cross(usize, usize),
    /// A factor's square.
    Bend(usize),
}

/// The terms of a surface over some factors.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shape {
    pub factors: usize,
    /// Slopes first, then products, then squares.
    pub terms: Vec<Term>,
}

impl Shape {
    /// Slopes alone: a plane.
    pub fn first_order(factors: usize) -> Self {
        Self { factors, terms: (0..factors).map(Term::Slope).collect() }
    }

    /// Slopes, products of two factors, and squares.
    pub fn second_order(factors: usize) -> Self {
        let mut shape = Self::first_order(factors);
        shape.terms.extend((0..factors).flat_map(|i| (i + 1..factors).map(move |j| Term::Cross(i, j))));
        shape.terms.extend((0..factors).map(Term::Bend));
        shape
    }

    /// The value of every term at a way.
    pub fn values(&self, x: &[f64]) -> Vec<f64> {
        let value = |term: &Term| match *term {
            Term::Slope(i) => x[i],
            Term::Cross(i, j) => x[i] * x[j],
            Term::Bend(i) => x[i] * x[i],
        };
        self.terms.iter().map(value).collect()
    }

    /// How every term changes with each factor at a way: a row for each factor, a column for each term.
    pub fn slopes(&self, x: &[f64]) -> Vec<Vec<f64>> {
        let mut rows = vec![vec![0.0; self.terms.len()]; self.factors];
        for (column, term) in self.terms.iter().enumerate() {
            match *term {
                Term::Slope(i) => rows[i][column] = 1.0,
                Term::Cross(i, j) => (rows[i][column], rows[j][column]) = (x[j], x[i]),
                Term::Bend(i) => rows[i][column] = 2.0 * x[i],
            }
        }
        rows
    }

    /// The coefficients as slopes b at the centre and a symmetric matrix B, so that the surface is b·x + x·B·x.
    pub fn parted(&self, coefficients: &[f64]) -> (Vec<f64>, Vec<Vec<f64>>) {
        let mut slopes = vec![0.0; self.factors];
        let mut bends = vec![vec![0.0; self.factors]; self.factors];
        for (term, &value) in self.terms.iter().zip(coefficients) {
            match *term {
                Term::Slope(i) => slopes[i] = value,
                Term::Cross(i, j) => (bends[i][j], bends[j][i]) = (value / 2.0, value / 2.0),
                Term::Bend(i) => bends[i][i] = value,
            }
        }
        (slopes, bends)
    }
}
