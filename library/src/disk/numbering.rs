//! In which order the sectors of a track pass the head, and in which order they are read.

/// Numbers of the sectors of a track, in the order in which they pass or are read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Numbering {
    numbers: Vec<u8>,
}

impl Numbering {
    /// The numbers from `first` on, each `step` places behind the one before it, or at the next free place.
    pub fn every(step: usize, first: u8, count: usize) -> Numbering {
        let mut places: Vec<Option<u8>> = vec![None; count];
        let mut at = 0;
        for number in 0..count {
            while places[at].is_some() {
                at = (at + 1) % count;
            }
            places[at] = Some(first.wrapping_add(number as u8));
            at = (at + step) % count;
        }
        Numbering { numbers: places.into_iter().flatten().collect() }
    }

    /// The numbers from `first` on in the order in which they are read, of sectors that pass in the order of their numbers:
    /// each passes `step` places behind the one that is read before it, or at the next free place.
    pub fn read_every(step: usize, first: u8, count: usize) -> Numbering {
        let every = Numbering::every(step, first, count);
        let mut numbers = vec![first; count];
        for (place, number) in every.numbers.iter().enumerate() {
            numbers[usize::from(number.wrapping_sub(first))] = first.wrapping_add(place as u8);
        }
        Numbering { numbers }
    }

    /// The numbers as they are listed; nothing unless each of those from `first` on stands there once.
    pub fn listed(numbers: Vec<u8>, first: u8) -> Option<Numbering> {
        let mut sorted = numbers.clone();
        sorted.sort_unstable();
        let complete = sorted.iter().enumerate().all(|(at, &number)| usize::from(number) == usize::from(first) + at);
        complete.then_some(Numbering { numbers })
    }

    /// The numbers in their order.
    pub fn numbers(&self) -> &[u8] {
        &self.numbers
    }

    /// The place of a number, from 0.
    pub fn place(&self, number: u8) -> Option<usize> {
        self.numbers.iter().position(|&other| other == number)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_number_stands_a_step_behind_the_one_before_it() {
        assert_eq!(Numbering::every(1, 0, 4).numbers(), [0, 1, 2, 3]);
        assert_eq!(Numbering::every(2, 0, 5).numbers(), [0, 3, 1, 4, 2]);
        // The third place behind 2 is taken by 0: the next free one is that behind it.
        assert_eq!(Numbering::every(3, 1, 6).numbers(), [1, 3, 5, 2, 4, 6]);
        for step in 1..26 {
            let mut numbers = Numbering::every(step, 1, 26).numbers().to_vec();
            numbers.sort_unstable();
            assert!(numbers.into_iter().eq(1..=26), "{step}");
        }
    }

    #[test]
    fn sectors_are_read_a_step_behind_one_another() {
        assert_eq!(Numbering::read_every(2, 0, 5).numbers(), [0, 2, 4, 1, 3]);
        assert_eq!(Numbering::read_every(3, 1, 6).numbers(), [1, 4, 2, 5, 3, 6]);
        // Eleven times three is one more than all 32.
        assert_eq!(Numbering::read_every(3, 0, 32), Numbering::every(11, 0, 32));
    }

    #[test]
    fn a_list_has_every_number_once() {
        assert!(Numbering::listed(vec![2, 1, 3], 1).is_some());
        assert!([vec![1, 1, 2], vec![0, 1, 2], vec![1, 2, 4]].into_iter().all(|it| Numbering::listed(it, 1).is_none()));
    }
}
