#!/usr/bin/env bash
# Lays the folder of a new stage with its page and headings empty: make new-stage NAME=malt_mill
set -eu
name="${1:-}"
if ! [[ "$name" =~ ^[a-z][a-z_]*$ ]]; then
	echo "usage: make new-stage NAME=word   (small letters and _)" >&2
	exit 2
fi
folder="crates/process/src/$name"
if [ -e "$folder" ]; then
	echo "$folder is there already" >&2
	exit 1
fi
mkdir -p "$folder"
cat >"$folder/mod.rs" <<RUST
//! TITLE: what the distiller does here, in three sentences for someone new to the house.
//!
//! # Equations
//! # Range
//! # Error
//! # Source

use crate::balance::{Balance, Matter};
use crate::curves::Curves;
use crate::stage::{Report, Stage};
use gauge::{Fault, Node, Reader, Record, record};

record! {
    /// What goes in.
    pub struct Charge {
        /// Dry matter.
        pub dry_kg: f64 = Field::new("kg").label("dry matter").within(1.0, 50_000.0).extensive(),
    }
}

record! {
    /// The fixed facts of the equipment.
    pub struct Vessel {
        /// Working volume.
        pub fill_l: f64 = Field::new("L").label("working volume").within(1.0, 1e6).extensive(),
    }
}

record! {
    /// What the hand decides.
    pub struct Programme {
        /// How long it takes.
        pub hours: f64 = Field::new("h").label("hours").within(0.1, 1000.0),
    }
}

record! {
    /// What a house may fit to its own records.
    pub struct Constants {}
}

/// What comes out, its course and its balance.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Dry matter passed on, kg.
    pub dry_kg: f64,
    /// The course of the run.
    pub curves: Curves,
    /// What went in, came out and was lost.
    pub balance: Balance,
}

/// Runs the stage.
pub fn run(
    charge: &Charge,
    _vessel: &Vessel,
    programme: &Programme,
    _constants: &Constants,
) -> Result<Run, Fault> {
    let mut balance = Balance::new();
    balance
        .input(Matter::DryMatter, "charge", charge.dry_kg)
        .output(Matter::DryMatter, "passed on", charge.dry_kg);
    let mut curves = Curves::new([("time_h", "h")]);
    curves.push(&[0.0]);
    curves.push(&[programme.hours]);
    Ok(Run { dry_kg: charge.dry_kg, curves, balance })
}

/// The stage by case file.
#[derive(Debug)]
pub enum ByCase {}

impl Stage for ByCase {
    const KEY: &'static str = "$name";
    const TITLE: &'static str = "TITLE";
    const DOES: &'static str = "What it reckons, in one sentence";
    const EXAMPLE: &'static str = "
[charge]
dry_kg = 1000.0
[vessel]
fill_l = 1000.0
[programme]
hours = 1.0
";
    type Case = (Charge, Vessel, Programme, Constants);

    fn read(reader: &mut Reader<'_>) -> Self::Case {
        (
            reader.section("charge", Charge::read),
            reader.section("vessel", Vessel::read),
            reader.section("programme", Programme::read),
            reader.section("constants", Constants::read),
        )
    }

    fn report((charge, vessel, programme, constants): &Self::Case) -> Result<Report, Vec<Fault>> {
        let run = run(charge, vessel, programme, constants).map_err(|fault| vec![fault])?;
        let result = Node::part([("dry_kg", Node::from(run.dry_kg))]);
        Ok(Report { result, curves: run.curves, balance: run.balance, warnings: Vec::new() })
    }
}
RUST
sed -i "s/^pub mod stage;/pub mod $name;\npub mod stage;/; s/^    \]$/        stage::face::<$name::ByCase>(),\n    ]/" crates/process/src/lib.rs
rustfmt --edition 2024 crates/process/src/lib.rs 2>/dev/null || true
cat <<EOT
$folder is laid and enrolled in process::faces (move its line to its place in the chain).
Next: write the page; constants as Fields with their source; check values in tests/reference/;
then make it pass crates/process/tests/every_stage.rs, and chain it in crates/forecast.
EOT
