//! What the Stillhouse answers to addresses and figures that make no sense: words, and never a
//! failure.

mod desk;

use desk::Desk;
use std::io::{Read, Write};
use std::net::TcpStream;

/// Status and body of one request.
fn ask(desk: &Desk, method: &str, path: &str, body: &str) -> (u16, String) {
    let host = desk.address.trim_start_matches("http://");
    let mut stream = TcpStream::connect(host).expect("it listens");
    let request = format!(
        "{method} {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\
         Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{body}",
        body.len()
    );
    stream.write_all(request.as_bytes()).expect("it takes a request");
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).expect("it answers");
    let answer = String::from_utf8_lossy(&answer).into_owned();
    let status = answer.split_whitespace().nth(1).and_then(|s| s.parse().ok()).expect("a status");
    (status, answer)
}

fn get(desk: &Desk, path: &'static str) -> (u16, String) {
    tokio::task::block_in_place(|| ask(desk, "GET", path, ""))
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_not_there_is_said_in_words() {
    let desk = Desk::open().await;
    for path in [
        "/stillhouse/run/9999",
        "/stillhouse/run/abc",
        "/stillhouse/run/-1",
        "/stillhouse/run/99999999999999999999",
        "/stillhouse/run/%3Cb%3E",
        "/stillhouse/run/9999/look",
        "/stillhouse/circuit/nothing",
        "/stillhouse/sheet/washback_5",
        "/stillhouse/sheet/nothing",
        "/stillhouse/note/washback_5",
        "/api/stillhouse/runs/9999",
        "/api/stillhouse/runs/abc/heart",
        "/api/stillhouse/circuits/nothing",
        "/api/stillhouse/charges/nothing",
    ] {
        let (status, body) = get(&desk, path);
        assert_eq!(status, 404, "{path}");
        assert!(body.contains("No ") || body.contains("has no "), "{path}: {body}");
        assert!(!body.contains("<b>"), "{path}: what was asked is escaped");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn figures_that_make_no_sense_leave_the_page_whole() {
    let desk = Desk::open().await;
    for query in [
        "from_min=abc",
        "from_min=",
        "from_min=NaN&to_pct=NaN",
        "from_min=inf&to_pct=-inf",
        "from_min=-5",
        "from_min=1e309",
        "to_pct=0",
        "to_pct=500",
        "from_min=200&to_pct=74",
        "at_from_min=7&at_to_pct=-1",
        "at_to_pct=NaN",
        "at_from_min=1&at_to_pct=0",
        "want_strength=200&want_phenols=-3",
        "want_strength=abc",
        "by=furlongs",
        "why=nonsense",
        "from_min=%3Cscript%3E",
        "kept=abc",
    ] {
        for part in ["", "&by=litres"] {
            let path = format!("/stillhouse/run/231?{query}{part}");
            let (status, body) = tokio::task::block_in_place(|| ask(&desk, "GET", &path, ""));
            assert_eq!(status, 200, "{path}");
            assert!(body.contains("</html>") && body.contains("The heart, as cut"), "{path}");
            assert!(!body.contains("<script>") && !body.contains(">nonsense<"), "{path}");
            assert!(!body.contains("NaN\u{202f}") && !body.contains(">NaN<"), "{path}");
        }
    }
    let (status, body) = get(&desk, "/stillhouse/circuit/feather?skip=1e9");
    assert_eq!(status, 200);
    assert!(body.contains("is outside 0 to 95"), "{body}");
    let (status, _) = get(&desk, "/stillhouse/circuit/pale?skip=50");
    assert_eq!(status, 200, "a make that has no middle still has no share to ask about");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_heart_by_json_is_the_heart_of_the_page() {
    let desk = Desk::open().await;
    let path = "/api/stillhouse/runs/231/heart?from_min=20&to_pct=60";
    let (status, body) = get(&desk, path);
    assert_eq!(status, 200, "{body}");
    let json = body.split("\r\n\r\n").nth(1).expect("a body");
    let start = json.find('{').expect("JSON");
    let end = json.rfind('}').expect("JSON");
    let heart: serde_json::Value = serde_json::from_str(&json[start..=end]).expect("JSON");
    let litres = heart["figures"]["heart_pure_l"]["value"].as_f64().expect("a figure");
    let (_, page) = get(&desk, "/stillhouse/run/231?from_min=20&to_pct=60");
    assert!(page.contains(&format!("<i>{litres:.0}</i>")), "{litres}");
    let wrong = "/api/stillhouse/runs/231/heart?from_min=200&to_pct=74";
    let (status, body) = get(&desk, wrong);
    assert_eq!(status, 422);
    assert!(body.contains("to_pct") && body.contains("before it begins"), "{body}");
    let (status, _) = get(&desk, "/api/stillhouse/circuits/feather?skip=2");
    assert_eq!(status, 422);
    for path in ["/api/stillhouse/runs", "/api/stillhouse/runs/231"] {
        assert_eq!(get(&desk, path).0, 200, "{path}");
    }
    let (status, body) = get(&desk, "/api/stillhouse/charges/spirit_still_2?make=ember");
    assert_eq!(status, 200, "{body}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_nosing_note_of_nothing_is_asked_for_again_and_sent_twice_is_one() {
    let desk = Desk::open().await;
    let entries = desk.entries();
    let post = |body: &str| {
        tokio::task::block_in_place(|| ask(&desk, "POST", "/stillhouse/run/231/nose", body))
    };
    let (status, body) = post("id=a-1&cut=heart");
    assert_eq!(status, 422);
    assert!(body.contains("Nothing is marked yet"), "{body}");
    let (status, body) = post("id=a-1&cut=heart&marks.peated=9&remark=still+here");
    assert_eq!(status, 422);
    assert!(body.contains("still here"), "what was typed stays: {body}");
    assert_eq!(desk.entries(), entries);
    for _ in 0..2 {
        let (status, _) = post("id=a-1&cut=heart&marks.peated=4");
        assert_eq!(status, 303);
    }
    assert_eq!(desk.entries(), entries + 1);
    let head = tokio::task::block_in_place(|| {
        ask(&desk, "POST", "/stillhouse/run/231/head", "do=nonsense")
    });
    assert_eq!(head.0, 422);
}
