//! What entries have set of a cylinder, as long as nothing that knows of it has set it anew.

use std::rc::Rc;

/// Who set something.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Setter {
    /// A row that the chain begins with, by its place among the different ones.
    Row(usize),
    /// An entry, by its position in the chain.
    Entry(usize),
}

/// Something that was set and still stands.
#[derive(Debug)]
struct Claim<T> {
    /// The entry by which it stands: where an undo brought it back, the undo.
    setter: Setter,
    /// The entry that said it first.
    origin: Setter,
    value: Rc<T>,
}

impl<T> Clone for Claim<T> {
    fn clone(&self) -> Self {
        Self { value: Rc::clone(&self.value), ..*self }
    }
}

/// Whether a branch, by its place, knows of the one who set something.
pub(super) type Knows<'k> = &'k dyn Fn(usize, Setter) -> bool;

/// Whether the first leaves nothing of the second.
pub(super) type Overtakes<'k, T> = &'k dyn Fn((Setter, &T), (Setter, &T)) -> bool;

/// All that stands of one kind of fact. More than one value where entries that don't know of each other set it.
#[derive(Debug)]
pub(super) struct Register<T> {
    claims: Rc<[Claim<T>]>,
}

impl<T> Clone for Register<T> {
    fn clone(&self) -> Self {
        Self { claims: Rc::clone(&self.claims) }
    }
}

impl<T> Default for Register<T> {
    fn default() -> Self {
        Self { claims: Rc::from([]) }
    }
}

impl<T: PartialEq> Register<T> {
    /// Sets it, whatever stood there.
    pub fn set(&mut self, setter: Setter, value: impl Into<Rc<T>>) {
        self.claims = Rc::from([Claim { setter, origin: setter, value: value.into() }]);
    }

    /// Adds to what stands there.
    pub fn add(&mut self, setter: Setter, value: impl Into<Rc<T>>) {
        let added = Claim { setter, origin: setter, value: value.into() };
        self.claims = self.claims.iter().cloned().chain([added]).collect();
    }

    /// Something that stands and is like this.
    pub fn find(&self, is: impl Fn(&T) -> bool) -> Option<Rc<T>> {
        self.claims.iter().find(|claim| is(&claim.value)).map(|claim| Rc::clone(&claim.value))
    }

    /// Takes back whatever isn't to be kept.
    pub fn retain(&mut self, keep: impl Fn(&T) -> bool) {
        if !self.claims.iter().all(|claim| keep(&claim.value)) {
            self.claims = self.claims.iter().filter(|claim| keep(&claim.value)).cloned().collect();
        }
    }

    /// Takes everything back.
    pub fn clear(&mut self) {
        if !self.claims.is_empty() {
            self.claims = Rc::from([]);
        }
    }

    pub fn is_empty(&self) -> bool {
        self.claims.is_empty()
    }

    /// Everything that stands.
    pub fn values(&self) -> impl Iterator<Item = &T> {
        self.claims.iter().map(|claim| claim.value.as_ref())
    }

    /// Everything that stands, each value once, with the one who said it first.
    pub fn distinct(&self) -> Vec<(Setter, &T)> {
        let mut all: Vec<(Setter, &T)> = Vec::new();
        for claim in self.claims.iter() {
            if all.iter().all(|(_, known)| *known != claim.value.as_ref()) {
                all.push((claim.origin, &claim.value));
            }
        }
        all
    }

    /// Whether something that this one said still stands.
    pub fn is_of(&self, origin: Setter) -> bool {
        self.claims.iter().any(|claim| claim.origin == origin)
    }

    /// What stands where several branches meet: all that no branch has taken back which knew of it.
    pub fn merged(branches: &[&Self], knows: Knows) -> Self {
        let [first, rest @ ..] = branches else { return Self::default() };
        if rest.iter().all(|other| Rc::ptr_eq(&first.claims, &other.claims)) {
            return Self::clone(first);
        }
        let mut claims: Vec<Claim<T>> = Vec::new();
        let has = |claims: &[Claim<T>], one: &Claim<T>| {
            claims.iter().any(|claim| claim.setter == one.setter && claim.value == one.value)
        };
        for claim in branches.iter().flat_map(|branch| branch.claims.iter()) {
            let gone = |(at, branch): (usize, &&Self)| !has(&branch.claims, claim) && knows(at, claim.setter);
            if !has(&claims, claim) && !branches.iter().enumerate().any(gone) {
                claims.push(claim.clone());
            }
        }
        Self { claims: claims.into() }
    }

    /// Takes back what an entry said, by another one that undoes it: what stood before stands again, but for what others
    /// that still stand have overtaken since.
    pub fn undo(&mut self, undone: Setter, before: &Self, by: Setter, overtakes: Overtakes<T>) {
        if !self.is_of(undone) {
            return;
        }
        let others: Vec<Claim<T>> = self.claims.iter().filter(|claim| claim.origin != undone).cloned().collect();
        let stands = |claim: &&Claim<T>| {
            !others.iter().any(|other| overtakes((other.setter, &other.value), (claim.setter, &claim.value)))
        };
        let again: Vec<Claim<T>> =
            before.claims.iter().filter(stands).map(|claim| Claim { setter: by, ..claim.clone() }).collect();
        self.claims = others.iter().cloned().chain(again).collect();
    }
}
