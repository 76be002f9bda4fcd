//! Which controllers fit what a run measured.

/// The answer to "which controller is this?".
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ControllerFits {
    /// What it rests on, ready to show: `start threshold 15.98 V`.
    pub by: Vec<String>,
    /// The profiles that are left, the heaviest class first, in each the best, and after them the named ones that are not. Their
    /// weights add up to 1, or to 0 where nothing fits.
    pub fits: Vec<ControllerFit>,
    /// What would tell apart those that fit, the sharpest first; empty where one is left, and where
    /// nothing in the library tells them apart.
    pub separated_by: Vec<Separation>,
    /// The answer as a sentence. It names a part only where it alone fits.
    pub conclusion: String,
    /// The start or stop threshold lies surely outside the published limits of every profile that
    /// the marking may stand for, and surely within those of another.
    pub contradicts_marking: bool,
}

/// One profile and how it fits.
#[derive(Debug, Clone, PartialEq)]
pub struct ControllerFit {
    /// Id of the profile.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Its family.
    pub family: String,
    /// Its class in a word, whatever maker and grade: `x844`, the number of most that replace it; else
    /// the part.
    pub class: String,
    /// Share among all profiles, 0 to 1; 0 for a named profile that does not fit.
    pub weight: f64,
    /// What it rests on, a part a figure.
    pub why: String,
    /// Figures that lie surely outside what it publishes, a sentence each.
    pub against: Vec<String>,
    /// Is it one that the marking may stand for?
    pub named: bool,
    /// Do both thresholds, as far as measured, lie surely within its published limits?
    pub surely: bool,
}

/// A figure that would tell apart the profiles that fit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Separation {
    /// Id of the quantity to measure.
    pub quantity: &'static str,
    /// What it would be for which of them, as a sentence.
    pub text: String,
}

/// The profiles of one class that fit.
#[derive(Debug, Clone, PartialEq)]
pub struct ClassFit<'a> {
    /// The class in a word.
    pub class: &'a str,
    /// Sum of their weights.
    pub weight: f64,
    /// The profiles, best first; at least one.
    pub fits: Vec<&'a ControllerFit>,
}

impl ControllerFits {
    /// [`ControllerFits::left`] by class, the heaviest class first.
    pub fn classes(&self) -> Vec<ClassFit<'_>> {
        let mut all: Vec<ClassFit> = Vec::new();
        for fit in self.left() {
            match all.iter_mut().find(|one| one.class == fit.class) {
                Some(class) => {
                    class.weight += fit.weight;
                    class.fits.push(fit);
                }
                None => all.push(ClassFit {
                    class: &fit.class,
                    weight: fit.weight,
                    fits: vec![fit],
                }),
            }
        }
        all.sort_by(|a, b| b.weight.total_cmp(&a.weight));
        all
    }

    /// The profiles with nothing against them.
    pub fn left(&self) -> impl Iterator<Item = &ControllerFit> {
        self.fits.iter().filter(|fit| fit.against.is_empty())
    }
}
