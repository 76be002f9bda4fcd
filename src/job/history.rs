//! Undo and redo: the record before each edit, as plain values.

use std::collections::VecDeque;

use crate::data::job::Job;

/// The record with what it was before each of the last edits, and what was taken back.
#[derive(Debug, Clone, PartialEq)]
pub struct History {
    now: Job,
    past: VecDeque<(String, Job)>,
    future: Vec<(String, Job)>,
    most: usize,
}

impl History {
    /// A history that begins with this record and keeps at most so many edits.
    pub fn new(job: Job, most: usize) -> Self {
        History {
            now: job,
            past: VecDeque::new(),
            future: Vec::new(),
            most,
        }
    }

    /// The record as it is.
    pub fn job(&self) -> &Job {
        &self.now
    }

    /// Does an edit under a name. One that changes nothing is not kept; one that does ends what could
    /// be done again.
    pub fn edit(&mut self, name: &str, change: impl FnOnce(&mut Job)) {
        let before = self.now.clone();
        change(&mut self.now);
        if self.now == before {
            return;
        }
        self.future.clear();
        self.past.push_back((name.to_owned(), before));
        while self.past.len() > self.most {
            self.past.pop_front();
        }
    }

    /// Changes the record without an edit that could be taken back: the date of a save.
    pub fn amend(&mut self, change: impl FnOnce(&mut Job)) {
        change(&mut self.now);
    }

    /// Changes the record as it is, as it was and as it was taken back: names of files that moved.
    pub fn rewrite(&mut self, change: impl Fn(&mut Job)) {
        change(&mut self.now);
        let others = self.past.iter_mut().chain(&mut self.future);
        for (_, job) in others {
            change(job);
        }
    }

    /// Name of the edit that [`History::undo`] takes back.
    pub fn undo_name(&self) -> Option<&str> {
        self.past.back().map(|(name, _)| name.as_str())
    }

    /// Name of the edit that [`History::redo`] does again.
    pub fn redo_name(&self) -> Option<&str> {
        self.future.last().map(|(name, _)| name.as_str())
    }

    /// Takes the last edit back; `false` where there is none.
    pub fn undo(&mut self) -> bool {
        let Some((name, before)) = self.past.pop_back() else {
            return false;
        };
        let after = std::mem::replace(&mut self.now, before);
        self.future.push((name, after));
        true
    }

    /// Does again what was taken back last; `false` where there is nothing.
    pub fn redo(&mut self) -> bool {
        let Some((name, after)) = self.future.pop() else {
            return false;
        };
        let before = std::mem::replace(&mut self.now, after);
        self.past.push_back((name, before));
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn called(history: &History) -> &str {
        &history.job().unit.name
    }

    fn rename(history: &mut History, name: &str) {
        history.edit(&format!("name {name}"), |job| {
            name.clone_into(&mut job.unit.name)
        });
    }

    #[test]
    fn edits_are_taken_back_and_done_again_in_order() {
        let mut history = History::new(Job::default(), 10);
        assert!(!history.undo() && !history.redo());
        rename(&mut history, "a");
        rename(&mut history, "b");
        rename(&mut history, "b");
        assert_eq!(history.undo_name(), Some("name b"));
        assert!(history.undo());
        assert_eq!(
            (called(&history), history.redo_name()),
            ("a", Some("name b"))
        );
        assert!(history.redo());
        assert_eq!(called(&history), "b");
        assert!(history.undo() && history.undo() && !history.undo());
        assert_eq!(called(&history), "");
        rename(&mut history, "c");
        assert_eq!((called(&history), history.redo_name()), ("c", None));
    }

    #[test]
    fn a_history_is_no_longer_than_its_bound() {
        let mut history = History::new(Job::default(), 3);
        for name in ["a", "b", "c", "d", "e"] {
            rename(&mut history, name);
        }
        assert!(history.undo() && history.undo() && history.undo() && !history.undo());
        assert_eq!(called(&history), "b");
        assert!(history.redo() && history.redo() && history.redo() && !history.redo());
        assert_eq!(called(&history), "e");
    }
}
