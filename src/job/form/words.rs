//! The words of the record for things that are one of a few.

use super::cells::Word;
use crate::data::job::{ChangeOver, Heat, When};
use crate::data::{Direction, Role, Setup, ShotKind};

impl Word for Setup {
    const EVERY: &'static [Self] = &Setup::ALL;
    fn word(self) -> &'static str {
        self.id()
    }
}

impl Word for ShotKind {
    const EVERY: &'static [Self] = &ShotKind::ALL;
    fn word(self) -> &'static str {
        self.id()
    }
}

impl Word for Role {
    const EVERY: &'static [Self] = &Role::ALL;
    fn word(self) -> &'static str {
        self.id()
    }
}

impl Word for Direction {
    const EVERY: &'static [Self] = &[Direction::Up, Direction::Down];
    fn word(self) -> &'static str {
        self.id()
    }
}

impl Word for When {
    const EVERY: &'static [Self] = &When::ALL;
    fn word(self) -> &'static str {
        self.id()
    }
}

impl Word for Heat {
    const EVERY: &'static [Self] = &Heat::ALL;
    fn word(self) -> &'static str {
        self.id()
    }
}

impl Word for ChangeOver {
    const EVERY: &'static [Self] = &ChangeOver::ALL;
    fn word(self) -> &'static str {
        self.id()
    }
}
