//! Lists of fixed capacity that parse without allocating.

use std::fmt;
use std::marker::PhantomData;

use heapless::Vec;
use serde::de::{Error, SeqAccess, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// At most `N` of something, as a JSON list. A longer list is refused.
#[derive(Clone, Debug, PartialEq)]
pub struct Few<T, const N: usize>(pub Vec<T, N>);

impl<T, const N: usize> Default for Few<T, N> {
    fn default() -> Self {
        Self(Vec::new())
    }
}

impl<T, const N: usize> Few<T, N> {
    /// Whether there is none, so that the field can be left out.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Each item of a list of the same capacity, in its other form.
    pub(crate) fn of<U>(items: &Vec<U, N>, convert: impl FnMut(&U) -> T) -> Self {
        Self(items.iter().map(convert).collect())
    }

    /// Each item in its other form, or the first fault.
    pub(crate) fn try_each<U, E>(self, convert: impl FnMut(T) -> Result<U, E>) -> Result<Vec<U, N>, E> {
        self.0.into_iter().map(convert).collect()
    }

    /// Each item in its other form.
    pub(crate) fn each<U>(self, convert: impl FnMut(T) -> U) -> Vec<U, N> {
        self.0.into_iter().map(convert).collect()
    }

    /// An array without the blanks at its end.
    pub(crate) fn trimmed<U>(
        array: &[U; N],
        blank: impl Fn(&U) -> bool,
        convert: impl FnMut(&U) -> T,
    ) -> Self {
        let length = N - array.iter().rev().take_while(|item| blank(item)).count();
        Self(array.iter().take(length).map(convert).collect())
    }

    /// The array again, its end filled with blanks.
    pub(crate) fn padded<U: Copy>(self, blank: U, convert: impl Fn(T) -> U) -> [U; N] {
        let mut array = [blank; N];
        for (place, item) in array.iter_mut().zip(self.0) {
            *place = convert(item);
        }
        array
    }
}

impl<T: Serialize, const N: usize> Serialize for Few<T, N> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(&self.0)
    }
}

impl<'de, T: Deserialize<'de>, const N: usize> Deserialize<'de> for Few<T, N> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_seq(FewVisitor(PhantomData))
    }
}

struct FewVisitor<T, const N: usize>(PhantomData<T>);

impl<'de, T: Deserialize<'de>, const N: usize> Visitor<'de> for FewVisitor<T, N> {
    type Value = Few<T, N>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "a list of at most {N}")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Self::Value, A::Error> {
        let mut few = Few::default();
        while let Some(item) = items.next_element()? {
            if few.0.push(item).is_err() {
                return Err(A::Error::invalid_length(N + 1, &self));
            }
        }
        Ok(few)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_longer_than_fits_is_refused() {
        assert_eq!(serde_json::from_str::<Few<u8, 2>>("[1,2]").expect("fits").0.as_slice(), [1, 2]);
        assert!(serde_json::from_str::<Few<u8, 2>>("[1,2,3]").is_err());
    }

    #[test]
    fn blanks_at_the_end_are_left_out_and_come_back() {
        let array = [0, 7, 0, 0];
        let few = Few::<u8, 4>::trimmed(&array, |item| *item == 0, |item| *item);
        assert_eq!(few.0.as_slice(), [0, 7]);
        assert_eq!(few.padded(0, |item| item), array);
    }
}
