//! Hostile texts in every field of a record and in the names of channels.

use std::fs;

use super::{all, check_page, outcome, text_of};

/// A photo of one grey pixel (PNG, third edition, 11.2; deflate and checksums by Python's zlib).
const PIXEL: &[u8] = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x01\0\0\0\x01\x08\0\0\0\0:~\x9bU\0\0\0\nIDATx\x9ccx\0\0\0\xe9\0\xe8\xaa\x8c\x11I\0\0\0\0IEND\xaeB`\x82";

#[test]
fn hostile_texts_are_inert_and_there() {
    let folder = tempfile::tempdir().unwrap();
    let job = folder.path().join("job");
    let capture = folder.path().join("sweep.csv");
    let good = fs::read_to_string("captures/gv24/01-sweep-vcc-vref.csv").unwrap();
    let named = good.replacen("CH1 (V),CH2 (V)", "<b>1</b>&amp; (V),=cmd() (V)", 1);
    assert_ne!(good, named);
    fs::write(&capture, named).unwrap();
    let args = [
        "inspect",
        capture.to_str().unwrap(),
        "--save-job",
        job.to_str().unwrap(),
    ];
    let (_, _, err) = outcome(&args);
    assert!(err.contains("is kept in"), "{err}");
    let long = "N".repeat(10_000);
    let script = "<script>alert('x')</script>";
    let texts = [
        "</title></style></svg><img src=x onerror=alert(1)>",
        "\" onload=\"alert(1)",
        "&lt;b&gt; & ' ;--",
        "a\u{202E}b\u{200F}c\u{7}d",
    ];
    let quoted = |text: &str| serde_json::to_string(text).unwrap().replace('\u{7f}', "");
    let record = job.join("job.toml");
    let mut written = fs::read_to_string(&record).unwrap();
    written = written.replace(
        "title = \"as given\"",
        &format!("title = {}", quoted("=HYPERLINK(\"x\")")),
    );
    let end = written.find("[[captures]]").unwrap();
    let top = written[..end].find("schema = 1").unwrap();
    written.insert_str(
        top + "schema = 1\n".len(),
        &format!(
            "complaint = {}\nnotes = {}\n",
            quoted(script),
            quoted(texts[2])
        ),
    );
    written.push_str(&format!(
        "\n[unit]\nname = {}\nmaker = {}\nserial = {}\n\n[[replaced]]\npart = {}\nwhy = {}\n",
        quoted(&long),
        quoted(texts[0]),
        quoted(texts[1]),
        quoted(texts[3]),
        quoted(script),
    ));
    fs::write(&record, written).unwrap();
    let (code, page, err) = outcome(&["report", job.to_str().unwrap()]);
    assert_eq!(code, 0, "{err}");
    let html = check_page(&page);
    let shown: String = all(&html, "body").iter().map(text_of).collect();
    for text in [script, texts[0], texts[1], texts[2], &long, "<b>1</b>&amp;"] {
        assert!(shown.contains(text), "{text:.60}");
    }
    assert!(shown.contains("a·b·c·d"));
    assert!(!page.contains(['\u{202E}', '\u{200F}', '\u{7}']));
    assert!(all(&html, "img, b").is_empty());
    let (_, table, _) = outcome(&["report", job.to_str().unwrap(), "--format", "csv"]);
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    for record in reader.records() {
        for cell in record.unwrap().iter() {
            let formula = cell.starts_with(['=', '+', '-', '@', '\t']);
            assert!(!formula || cell.parse::<f64>().is_ok(), "{cell}");
        }
    }
    assert!(table.contains("'=HYPERLINK") && table.contains("'=cmd()"));
}

#[test]
fn photos_are_on_the_page_or_named_with_the_reason() {
    let folder = tempfile::tempdir().unwrap();
    let job = folder.path().join("job");
    let args = [
        "inspect",
        "captures/gv24/01-sweep-vcc-vref.csv",
        "--save-job",
        job.to_str().unwrap(),
    ];
    outcome(&args);
    fs::create_dir_all(job.join("pictures")).unwrap();
    fs::write(job.join("pictures/pixel.png"), PIXEL).unwrap();
    fs::write(job.join("pictures/notes.png"), "no picture").unwrap();
    let mut large = PIXEL.to_vec();
    large.resize(2_000_001, 0);
    fs::write(job.join("pictures/large.png"), large).unwrap();
    let record = job.join("job.toml");
    let mut written = fs::read_to_string(&record).unwrap();
    for name in ["pixel", "notes", "large"] {
        written.push_str(&format!(
            "\n[[pictures]]\nfile = \"pictures/{name}.png\"\ntitle = \"{name}\"\n"
        ));
    }
    fs::write(&record, written).unwrap();
    let (code, page, err) = outcome(&["report", job.to_str().unwrap()]);
    assert_eq!(code, 0, "{err}");
    let html = check_page(&page);
    let images = all(&html, "img");
    assert_eq!(images.len(), 1);
    assert_eq!(images[0].value().attr("alt"), Some("pixel"));
    let shown: String = all(&html, "body").iter().map(text_of).collect();
    assert!(shown.contains("it is no PNG") && shown.contains("2000001 bytes"));
}
