use super::*;

fn left(folder: &Path, process: u32, host: &str) {
    let text = format!("{process}\n{host}\n2026-11-26T14:05:00Z\n");
    fs::write(folder.join(LOCK), text).unwrap();
}

#[test]
fn two_at_once_are_noticed_and_the_second_is_told_who() {
    let folder = tempfile::tempdir().unwrap();
    let (first, told) = take(folder.path(), "2026-11-26T14:05:00Z", false).unwrap();
    assert_eq!(told, None);
    for take_over in [false, true] {
        let error = take(folder.path(), "later", take_over).unwrap_err();
        let JobError::InUse {
            holder,
            may_take_over,
            ..
        } = &error
        else {
            panic!("{error}");
        };
        assert!(!may_take_over, "a process that runs is never pushed aside");
        assert!(holder.contains(&std::process::id().to_string()), "{holder}");
        assert!(holder.contains("2026-11-26T14:05:00Z"), "{holder}");
    }
    drop(first);
    assert!(!folder.path().join(LOCK).exists());
    assert_eq!(take(folder.path(), "later", false).unwrap().1, None);
}

#[test]
fn what_an_ended_process_of_this_machine_left_is_taken_over_and_told() {
    let folder = tempfile::tempdir().unwrap();
    left(folder.path(), 4_194_304, &host());
    let told = take(folder.path(), "now", false).unwrap().1.unwrap();
    assert_eq!(told.process, 4_194_304);
}

#[test]
fn what_another_machine_left_is_taken_over_on_request_only() {
    let folder = tempfile::tempdir().unwrap();
    left(folder.path(), 17, "another-bench");
    let error = take(folder.path(), "now", false).unwrap_err();
    assert!(
        matches!(
            &error,
            JobError::InUse {
                may_take_over: true,
                ..
            }
        ),
        "{error}"
    );
    assert!(error.to_string().contains("another-bench"), "{error}");
    let told = take(folder.path(), "now", true).unwrap().1.unwrap();
    assert_eq!(told.host, "another-bench");
}

#[test]
fn a_lock_without_words_is_nobodys_and_a_link_is_not_followed() {
    let folder = tempfile::tempdir().unwrap();
    for text in ["", "\n", "x\ny\nz\n", "12\n"] {
        fs::write(folder.path().join(LOCK), text).unwrap();
        assert_eq!(
            take(folder.path(), "now", false).unwrap().1,
            None,
            "{text:?}"
        );
    }
    #[cfg(unix)]
    {
        let other = folder.path().join("kept.txt");
        fs::write(&other, "kept").unwrap();
        std::os::unix::fs::symlink(&other, folder.path().join(LOCK)).unwrap();
        assert!(take(folder.path(), "now", true).is_err());
        assert_eq!(fs::read_to_string(&other).unwrap(), "kept");
    }
}
