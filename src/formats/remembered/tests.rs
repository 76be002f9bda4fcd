use super::file::{LONGEST_STEM, parse, stem};
use super::*;
use crate::data::MemorySource;
use proptest::prelude::*;

fn layout(name: &str, signature: &str, told: &[(&str, &str)]) -> Remembered {
    Remembered {
        name: name.to_owned(),
        signature: signature.to_owned(),
        layout: told
            .iter()
            .map(|(key, value)| ((*key).to_owned(), (*value).to_owned()))
            .collect(),
    }
}

fn open(folder: &tempfile::TempDir) -> Layouts {
    Layouts::open(folder.path()).unwrap()
}

fn names(folder: &tempfile::TempDir) -> Vec<String> {
    let entries = std::fs::read_dir(folder.path()).unwrap();
    let name = |entry: io::Result<fs::DirEntry>| entry.unwrap().file_name().into_string().unwrap();
    let mut names: Vec<String> = entries.map(name).collect();
    names.sort();
    names
}

#[test]
fn what_is_saved_is_found_by_signature_and_is_plain_to_read() {
    let folder = tempfile::tempdir().unwrap();
    let new = layout(
        "Old logger",
        "Points,0\nt,CH0\n,",
        &[("interval", "2us"), ("unit.2", "mV")],
    );
    let path = open(&folder).save(new.clone(), false).unwrap();
    assert_eq!(names(&folder), ["old-logger.toml"]);
    let text = fs::read_to_string(path).unwrap();
    for part in [
        "schema = 1",
        "name = \"Old logger\"",
        "\nPoints,0\n",
        "interval = \"2us\"",
        "\"unit.2\" = \"mV\"",
    ] {
        assert!(text.contains(part), "{part} in\n{text}");
    }
    let again = open(&folder);
    assert_eq!(again.find(&new.signature), Some(&new));
    assert_eq!(again.find("other"), None);
    assert_eq!(again.find(""), None);
    assert!(again.problems().is_empty());
}

#[test]
fn it_is_applied_beneath_what_was_told() {
    let folder = tempfile::tempdir().unwrap();
    let source = MemorySource::new("a.csv", b"t;v\n1,5;2,5\n2,5;3,5\n".as_slice());
    let mut layouts = open(&folder);
    let new = layout("logger", &signature(&source), &[("decimal", "comma")]);
    layouts.save(new, false).unwrap();
    let told = ReadOptions::default().with("interval", "1us");
    let options = layouts.applied(&told, &source);
    assert_eq!(options.remembered_as, "logger");
    assert_eq!(options.remembered["decimal"], "comma");
    assert_eq!(options.layout, told.layout);
    let other = MemorySource::new("b.csv", b"x,y\n1,2\n".as_slice());
    assert_eq!(layouts.applied(&told, &other), told);
}

#[test]
fn another_layout_of_the_same_name_gets_a_number_and_harms_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let mut layouts = open(&folder);
    for signature in ["a", "b", "c"] {
        let new = layout("../Étrange/ name!", signature, &[("decimal", "comma")]);
        layouts.save(new, false).unwrap();
    }
    let wanted = [
        "trange-name-2.toml",
        "trange-name-3.toml",
        "trange-name.toml",
    ];
    assert_eq!(names(&folder), wanted);
    let refused = layouts.save(layout("x", "b", &[("decimal", "point")]), false);
    assert!(matches!(refused, Err(RememberedError::Exists { .. })));
    assert_eq!(open(&folder).find("b").unwrap().layout["decimal"], "comma");
    layouts
        .save(layout("aux", "b", &[("decimal", "point")]), true)
        .unwrap();
    let wanted = ["layout-aux.toml", "trange-name-3.toml", "trange-name.toml"];
    assert_eq!(names(&folder), wanted);
    layouts.forget("b").unwrap();
    layouts.forget("b").unwrap();
    assert_eq!(open(&folder).iter().count(), 2);
    assert_eq!(names(&folder), wanted[1..]);
}

#[test]
fn a_bad_file_is_named_with_line_and_key_and_the_others_are_used() {
    let folder = tempfile::tempdir().unwrap();
    let good = layout("good", "g", &[("decimal", "comma")]);
    open(&folder).save(good, false).unwrap();
    let head = "schema = 1\nname = \"n\"\nsignature = \"s\"\n";
    let files = [
        (
            "a",
            format!("{head}[layout]\nseperator = \"comma\"\n"),
            "line 5: layout.seperator",
        ),
        (
            "b",
            format!("{head}[layout]\ndecimal = \"dot\"\n"),
            "line 5: layout.decimal: takes point",
        ),
        (
            "c",
            format!("{head}colour = \"red\"\n[layout]\n"),
            "line 4: unknown field `colour`",
        ),
        ("d", "schema = 1\nname = \n".to_owned(), "line 2:"),
        (
            "e",
            format!("{head}[layout]\nfirst-row = 3\n"),
            "line 5: invalid type",
        ),
        (
            "f",
            "schema = 1\nname = \"\\u001b[2J\"\nsignature = \"s\"\n[layout]\n".to_owned(),
            "line 2: name",
        ),
        (
            "g",
            head.replace("= 1", "= 0") + "[layout]\n",
            "line 1: schema has to be 1",
        ),
        (
            "h",
            "schema = 7\nlayout = 3\n".to_owned(),
            "schema 7 is of a later version",
        ),
        ("i", "x".repeat(300_000), "larger than a layout"),
        (
            "j",
            format!("{}[layout]\n", head.replace("\"s\"", "\"g\"")),
            "same form as",
        ),
    ];
    for (name, text, _) in &files {
        fs::write(folder.path().join(format!("{name}.toml")), text).unwrap();
    }
    // the first by name of two for one form
    fs::rename(
        folder.path().join("good.toml"),
        folder.path().join("0.toml"),
    )
    .unwrap();
    fs::create_dir(folder.path().join("k.toml")).unwrap();
    let layouts = open(&folder);
    assert_eq!(layouts.find("g").unwrap().name, "good");
    let said: Vec<String> = layouts.problems().iter().map(ToString::to_string).collect();
    assert_eq!(said.len(), files.len() + 1, "{said:#?}");
    for ((name, _, wanted), said) in files.iter().zip(&said) {
        let file = format!("{name}.toml");
        assert!(
            said.contains(wanted) && said.contains(&file),
            "{wanted}: {said}"
        );
    }
    // a later version's file is never written over
    let mut layouts = open(&folder);
    layouts
        .save(layout("h", "new", &[("decimal", "comma")]), true)
        .unwrap();
    assert!(names(&folder).contains(&"h-2.toml".to_owned()));
    let left = fs::read_to_string(folder.path().join("h.toml")).unwrap();
    assert_eq!(left, files[7].1);
}

#[test]
fn what_cannot_be_remembered_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let told = [("decimal", "comma")];
    for (new, wanted) in [
        (layout("", "s", &told), "name"),
        (layout("a\nb", "s", &told), "name"),
        (layout(&"x".repeat(61), "s", &told), "name"),
        (layout("n", "", &told), "no text"),
        (layout("n", "s", &[]), "nothing to remember"),
    ] {
        let refused = open(&folder).save(new, true).unwrap_err().to_string();
        assert!(refused.contains(wanted), "{refused}");
    }
    assert!(names(&folder).is_empty());
    let file = folder.path().join("file");
    fs::write(&file, "x").unwrap();
    assert!(Layouts::open(&file).is_err());
    let inner = folder.path().join("not").join("there");
    let mut layouts = Layouts::open(&inner).unwrap();
    layouts.save(layout("n", "s", &told), false).unwrap();
    assert!(inner.join("n.toml").exists());
}

proptest! {
    #[test]
    fn any_signature_and_name_come_back_as_they_were(
        name in "[^\\p{C}]{1,60}", lines in prop::collection::vec("\\PC{0,40}", 1..6), value in "\\PC{0,20}"
    ) {
        let signature = lines.join("\n").trim_matches('\n').to_owned();
        let one = layout(&name, &signature, &[("name.3", &value)]);
        prop_assume!(is_name(&name));
        let text = written(&one).unwrap();
        prop_assert_eq!(parse(Path::new("a.toml"), &text), Ok(one));
        let stem = stem(&name);
        prop_assert!(stem.len() <= LONGEST_STEM + 7 && !stem.is_empty());
        prop_assert!(stem.bytes().all(|b| matches!(b, b'a'..=b'z' | b'0'..=b'9' | b'-')));
    }
}
