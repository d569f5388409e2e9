//! One batch from barley to cask in the demo house, every stage chained, bands included.

use bench::{report, seconds};
use forecast::Asked;
use jiff::Timestamp;

fn main() {
    let house = house::quernholm();
    for make in &house.makes.makes {
        let asked = Asked::usual(&make.key, Timestamp::UNIX_EPOCH);
        let once = seconds(|| forecast::batch(&house, &asked).map(|b| b.steps.len()));
        report(&format!("a batch of {} with its bands", make.name), once, None, None);
    }
}
