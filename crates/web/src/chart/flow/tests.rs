//! The picture of flows: one scale, nothing covered, no end of a ring needed.

use super::*;

fn stream(from: &str, to: &str, amount: f64, returns: bool) -> Stream {
    Stream { from: from.into(), to: to.into(), amount, returns, ..Stream::default() }
}

fn flow() -> Flow {
    let node = |key: &str| Node { key: key.into(), name: key.into(), ..Node::default() };
    Flow {
        says: "The circuit".into(),
        nodes: ["wash", "low_wines", "middle", "spirit", "heart"].map(node).into(),
        streams: vec![
            stream("wash", "low_wines", 100.0, false),
            stream("low_wines", "middle", 40.0, false),
            stream("low_wines", "spirit", 60.0, false),
            stream("middle", "spirit", 39.0, false),
            stream("spirit", "heart", 98.0, false),
            stream("spirit", "spirit", 70.0, true),
        ],
    }
}

#[test]
fn what_skips_a_still_passes_its_level_and_covers_nothing() {
    let flow = flow();
    assert_eq!(flow.levels(), [0, 1, 2, 3, 4]);
    let lay = flow.layout(150.0, 50.0);
    let skips = &lay.ribbons[2];
    assert_eq!(skips.places.len(), 3);
    let middle = lay.boxes[2];
    let passed = skips.places[1].1;
    assert!(passed + skips.thick <= middle.across, "{passed} over {}", middle.across);
}

#[test]
fn one_scale_holds_for_the_whole_picture() {
    let flow = flow();
    let lay = flow.layout(150.0, 50.0);
    let litre = lay.ribbons[0].thick / 100.0;
    for ribbon in &lay.ribbons {
        assert!((ribbon.thick - ribbon.stream.amount * litre).abs() < 1e-9);
    }
    assert!((lay.loops[0].thick - 70.0 * litre).abs() < 1e-9);
    // The spirit still takes what comes and what returns.
    assert!((lay.boxes[3].thick - 169.0 * litre).abs() < 1e-9);
    assert!(lay.loops[0].run > lay.boxes[3].across + lay.boxes[3].thick);
}

#[test]
fn a_ring_without_an_end_is_laid_out_all_the_same() {
    let mut flow = flow();
    flow.streams.push(stream("heart", "wash", 5.0, false));
    assert!(flow.draw().into_string().contains("The circuit"));
    assert!(Flow::default().draw().into_string().contains("<svg"));
}
