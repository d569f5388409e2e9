//! Reads the check values of mill, mash, conversion, cooling and fermentation.

const TABLE: &str = include_str!("../../../tests/reference/mash_ferment_reference.csv");

/// One row of the table.
#[derive(Debug, Clone)]
pub(crate) struct Row {
    /// The case it belongs to.
    pub(crate) case: &'static str,
    /// What is checked.
    pub(crate) quantity: &'static str,
    /// Where: a time, or the figures of the case.
    pub(crate) at: &'static str,
    /// The value.
    pub(crate) value: f64,
    tolerance: &'static str,
}

impl Row {
    /// Where, as a number.
    pub(crate) fn at_number(&self) -> f64 {
        self.at.parse().expect("a number under `at`")
    }
    /// Fails unless `got` is within the row's own tolerance, or within `printed` where the row
    /// states none.
    pub(crate) fn holds(&self, got: f64) {
        let allowed = match self.tolerance {
            "1e-4 rel or 1e-5 abs" => (1e-4 * self.value.abs()).max(1e-5),
            "1e-4 rel" => 1e-4 * self.value.abs(),
            "0.2 against Balling" => 0.2,
            "band" | "" => panic!("{self:?} states no tolerance"),
            figure => figure.parse().expect("a tolerance"),
        };
        assert!(
            (got - self.value).abs() <= allowed,
            "{} {} at {}: {got} against {} within {allowed}",
            self.case,
            self.quantity,
            self.at,
            self.value
        );
    }
}

/// The rows of one case that give a figure; fails when there are none.
pub(crate) fn rows(case: &str) -> Vec<Row> {
    let rows: Vec<Row> = TABLE
        .lines()
        .filter(|line| !line.starts_with('#'))
        .filter_map(|line| {
            let cells: Vec<&'static str> = line.split(',').collect();
            (cells.len() == 9 && cells[0] == case).then(|| cells[4].parse().ok()).flatten().map(
                |value| Row {
                    case: cells[0],
                    quantity: cells[1],
                    at: cells[2],
                    value,
                    tolerance: cells[6],
                },
            )
        })
        .collect();
    assert!(!rows.is_empty(), "no rows for {case}");
    rows
}
