//! Reads the check values of mill, mash, conversion, cooling and fermentation.

/// One row of the table.
#[derive(Debug, Clone)]
pub(crate) struct Row {
    /// The case it belongs to.
    pub(crate) case: String,
    /// What is checked.
    pub(crate) quantity: String,
    /// Where: a time, or the figures of the case.
    pub(crate) at: String,
    /// The value.
    pub(crate) value: f64,
    tolerance: String,
}

impl Row {
    /// Where, as a number.
    pub(crate) fn at_number(&self) -> f64 {
        self.at.parse().expect("a number under `at`")
    }
    /// How far off the row itself allows.
    pub(crate) fn allows(&self) -> f64 {
        match self.tolerance.as_str() {
            "1e-4 rel or 1e-5 abs" => (1e-4 * self.value.abs()).max(1e-5),
            "1e-4 rel" => 1e-4 * self.value.abs(),
            "0.2 against Balling" => 0.2,
            "band" | "" => panic!("{self:?} states no tolerance"),
            figure => figure.parse().expect("a tolerance"),
        }
    }
    /// Fails unless `got` is within the row's own tolerance.
    #[track_caller]
    pub(crate) fn holds(&self, got: f64) {
        let allowed = self.allows();
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
    let table = checks::reference("mash_ferment_reference.csv").only("case", case);
    let figures = table.rows.iter().filter_map(|row| {
        Some(Row {
            case: case.to_owned(),
            quantity: row.text("quantity").to_owned(),
            at: row.text("at").to_owned(),
            value: row.text("value").parse().ok()?,
            tolerance: row.text("tolerance").to_owned(),
        })
    });
    figures.collect()
}
