//! Entries as lines and back, and what becomes of a file that is cut, changed, doubled or taken apart.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::collections::HashSet;

use fastrand::Rng;

use super::*;
use crate::cylinder::{Condition, Fate, Id};
use crate::ledger::{
    Bind, BoundJob, Change, Closed, CylinderState, Damage, Entry, EntryId, Fact, FactKind, Gained, JobId, Moment, Pour,
    Reading, Row, Step, What,
};
use crate::quantity::{Decimal, Weight};

const LEDGER: &str = "1f2e3d";

/// A text as people write them, and as they don't.
fn text(rng: &mut Rng) -> String {
    const PARTS: [&str; 12] = [
        "Rack 1",
        "R-22",
        "\"old\"",
        "Kühlhaus",
        "\n",
        "\\",
        "\u{1f9ca}",
        " ",
        "{\"id\":1}",
        "\u{7f}",
        ",\"sum\":\"",
        "x",
    ];
    (0..rng.usize(1..4)).map(|_| PARTS[rng.usize(..PARTS.len())]).collect()
}

fn texts(rng: &mut Rng) -> Vec<String> {
    (0..rng.usize(..3)).map(|_| text(rng)).collect()
}

fn maybe<T>(rng: &mut Rng, what: fn(&mut Rng) -> T) -> Option<T> {
    rng.bool().then(|| what(rng))
}

fn several<T>(rng: &mut Rng, what: fn(&mut Rng) -> T) -> Vec<T> {
    (0..rng.usize(..4)).map(|_| what(rng)).collect()
}

/// Weights of every unit, also less than nothing, and some that are a number of none.
fn weight(rng: &mut Rng) -> Weight {
    let number = Decimal::new(rng.i64(-2_000_000..20_000_000), rng.u32(..5));
    match rng.usize(..6) {
        0 => Weight::pounds(number),
        1 => Weight::kilograms(number),
        2 => Weight::ounces(number),
        3 => Weight::grams(number),
        4 => Weight::ZERO,
        _ => Weight::pounds(Decimal::ONE).times(Decimal::new(rng.i64(..), 17)),
    }
}

fn id(rng: &mut Rng) -> Id {
    if rng.u8(..8) == 0 { Id::from(text(rng)) } else { Id::from(format!("C-{}", rng.u8(100..130))) }
}

fn name(rng: &mut Rng) -> EntryId {
    EntryId { tag: format!("t{}", rng.u8(..)).into(), number: rng.u64(1..=u64::MAX) }
}

fn condition(rng: &mut Rng) -> Condition {
    Condition::ALL[rng.usize(..Condition::ALL.len())].0
}

fn state(rng: &mut Rng) -> CylinderState {
    CylinderState {
        gross: weight(rng),
        holds: text(rng),
        may_contain: texts(rng),
        condition: condition(rng),
        owner: maybe(rng, text),
        kept_for: maybe(rng, text),
        cleaned: rng.bool(),
    }
}

fn row(rng: &mut Rng) -> Row {
    let keys = ["tare", "water_capacity", "mark", "tested", "remark", "confirmed"];
    let stamped = keys.into_iter().filter(|_| rng.bool()).collect::<Vec<_>>();
    let stamped = stamped.into_iter().map(|key| (key.to_owned(), text(rng))).collect();
    Row { id: id(rng), stamped, state: state(rng) }
}

fn pair(rng: &mut Rng) -> (String, Weight) {
    (text(rng), weight(rng))
}

fn step(rng: &mut Rng) -> Step {
    let [now, add, stop, limit] = std::array::from_fn(|_| weight(rng));
    Step { cylinder: id(rng), lot: text(rng), from: several(rng, pair), now, add, stop, limit }
}

fn bind(rng: &mut Rng) -> Bind {
    Bind {
        jobs: several(rng, |rng| BoundJob { name: text(rng), first: name(rng), text: text(rng) }),
        follows: several(rng, name),
        day: jiff::civil::date(rng.i16(1900..2200), rng.i8(1..13), rng.i8(1..29)),
        van: maybe(rng, text),
        options: texts(rng),
        cylinders: several(rng, id),
        systems: several(rng, pair),
        steps: several(rng, step),
        short: several(rng, pair),
        dry: texts(rng),
        more: texts(rng),
    }
}

fn reading(rng: &mut Rng) -> Reading {
    let pour = Pour {
        lot: text(rng),
        refrigerants: texts(rng),
        mixed: rng.bool(),
        condition: condition(rng),
        fate: Fate::ALL[rng.usize(..Fate::ALL.len())].0,
        owner: maybe(rng, text),
        kept_for: maybe(rng, text),
    };
    Reading {
        cylinder: id(rng),
        bind: name(rng),
        gross: weight(rng),
        net: maybe(rng, weight),
        parts: several(rng, |rng| Gained { system: text(rng), weight: weight(rng), assumed: rng.bool() }),
        pour,
        emptied: rng.bool(),
        moved: rng.bool(),
        morning: rng.bool(),
        forced: texts(rng),
        note: maybe(rng, text),
        via: maybe(rng, text),
    }
}

fn fact(rng: &mut Rng) -> Fact {
    let cylinder = id(rng);
    let what = match rng.usize(..8) {
        0 => FactKind::Weighed { cylinder, gross: weight(rng), holds: maybe(rng, state) },
        1 => FactKind::Emptied { cylinder, gross: weight(rng) },
        2 => FactKind::Out { cylinder },
        3 => FactKind::Back { cylinder },
        4 => FactKind::AsFile { cylinder },
        5 => FactKind::Added { cylinder },
        6 => FactKind::ToVan { cylinder, van: text(rng) },
        _ => FactKind::GivenUp { entry: name(rng) },
    };
    Fact { what, why: maybe(rng, text) }
}

fn what(rng: &mut Rng) -> What {
    match rng.usize(..8) {
        0 => What::Bind(bind(rng)),
        1 => What::Release { of: name(rng) },
        2 => What::Reading(reading(rng)),
        3 => What::Undo { of: name(rng) },
        4 => What::Cylinder(fact(rng)),
        5 => What::Settling {
            changes: several(rng, |rng| Change { cylinder: id(rng), before: state(rng), after: state(rng) }),
        },
        6 => What::Settled { of: name(rng) },
        _ => What::Closed(Closed {
            place: maybe(rng, text),
            certificate: maybe(rng, text),
            company: maybe(rng, text),
            recipient: maybe(rng, text),
            transferred: maybe(rng, text),
        }),
    }
}

fn entry(rng: &mut Rng, id: EntryId) -> Entry {
    let clocks = ["2026-12-01T08:15:00-05:00", "2026-02-28T23:59:59+05:30", "2027-01-01T00:00:00+00:00"];
    Entry {
        id,
        at: Moment::parse(clocks[rng.usize(..clocks.len())]).unwrap(),
        by: text(rng),
        job: maybe(rng, |rng| JobId { name: text(rng), first: name(rng) }),
        on: several(rng, |rng| (self::id(rng), several(rng, name))),
        rows: several(rng, row),
        what: what(rng),
    }
}

/// A cylinder of the yard.
fn of_yard(rng: &mut Rng) -> Id {
    Id::from(format!("C-{}", rng.u8(101..=109)))
}

/// The entries of one writer, and its file. They speak of cylinders of the yard alone.
fn written(rng: &mut Rng, tag: &str, count: usize) -> (Vec<Entry>, String) {
    let head = WriterHead { ledger: LEDGER.into(), writer: "van-3".into(), tag: tag.into() };
    let (mut text, mut tail) = Tail::begin(&head);
    let mut all = Vec::new();
    for _ in 0..count {
        let mut entry = entry(rng, tail.next_id());
        let from = several(rng, name);
        entry.on = vec![(of_yard(rng), from), (of_yard(rng), Vec::new())];
        entry.rows.iter_mut().for_each(|row| row.id = of_yard(rng));
        text += &tail.write(&entry);
        all.push(entry);
    }
    (all, text)
}

fn read(files: &[(&str, &[u8])]) -> LedgerRead {
    let files = files.iter().map(|(name, bytes)| WriterFile::read(name, bytes, Some(LEDGER))).collect();
    read_ledger(files, &(101..=109).map(|number| Id::from(format!("C-{number}"))).collect::<Vec<_>>())
}

/// Whether everything that an entry spoke of is in doubt by this damage.
fn covers(damage: &Damage, lost: &Entry) -> bool {
    lost.on.iter().all(|(id, _)| damage.cylinders.contains(id))
}

/// The entry that is missing is named as damage, and everything that it spoke of is in doubt.
fn is_told(read: &LedgerRead, lost: &Entry) -> bool {
    read.ledger.damage.iter().any(|damage| damage.entry.as_ref() == Some(&lost.id) && covers(damage, lost))
}

#[test]
fn entries_of_all_kinds_read_as_they_were_written() {
    let mut rng = Rng::with_seed(17);
    let mut kinds = HashSet::new();
    for round in 0..40 {
        let head = WriterHead { ledger: LEDGER.into(), writer: "van-3".into(), tag: "k3v9q2".into() };
        let (mut text, mut tail) = Tail::begin(&head);
        let mut all = Vec::new();
        for _ in 0..25 {
            all.push(entry(&mut rng, tail.next_id()));
            text += &all.last().map(|entry| tail.write(entry)).unwrap();
        }
        kinds.extend(all.iter().map(|entry| std::mem::discriminant(&entry.what)));
        assert_eq!(text.lines().count(), 26);
        let read = read(&[("van-3-k3v9q2.jsonl", text.as_bytes())]);
        assert_eq!(read.ledger.entries, all, "{round}");
        assert_eq!((read.ledger.damage, read.notes), (Vec::new(), Vec::new()));
        // A file that goes on after it was read is the same file.
        let mut tail = WriterFile::read("", text.as_bytes(), None).tail.unwrap();
        let more = entry(&mut rng, tail.next_id());
        let text = text + &tail.write(&more);
        let read = self::read(&[("", text.as_bytes())]);
        assert_eq!((read.ledger.entries.last(), read.ledger.damage.len()), (Some(&more), 0));
    }
    assert_eq!(kinds.len(), 8);
}

/// The least that a file says, and that what is in it reads by itself.
#[test]
fn a_line_is_as_people_can_read_it() {
    let head = WriterHead { ledger: LEDGER.into(), writer: "van-3".into(), tag: "k3v9q2".into() };
    let (text, mut tail) = Tail::begin(&head);
    assert_eq!(
        text,
        "{\"format\":\"chargesplit-ledger/1\",\"ledger\":\"1f2e3d\",\"writer\":\"van-3\",\"tag\":\"k3v9q2\",\
         \"sum\":\"87d5fa0f\"}\n"
    );
    let entry = |id| Entry {
        id,
        at: Moment::parse("2026-12-01T08:15:00-05:00").unwrap(),
        by: "van-3".into(),
        job: None,
        on: vec![("C-101".into(), vec![EntryId::parse("k3v9q2/1").unwrap()])],
        rows: Vec::new(),
        what: What::Cylinder(Fact {
            what: FactKind::Weighed {
                cylinder: "C-101".into(),
                gross: Weight::pounds(Decimal::new(637, 1)),
                holds: None,
            },
            why: Some("after lunch".into()),
        }),
    };
    tail.write(&entry(tail.next_id()));
    let line = tail.write(&entry(tail.next_id()));
    assert!(line.starts_with(
        "{\"id\":\"k3v9q2/2\",\"at\":\"2026-12-01T08:15:00-05:00\",\"by\":\"van-3\",\"on\":{\"C-101\":[\"k3v9q2/1\"]},\
         \"what\":{\"cylinder\":{\"what\":{\"weighed\":{\"cylinder\":\"C-101\",\"gross\":\"63.7 lb\"}},\
         \"why\":\"after lunch\"}},\"past\":{\"C-101\":1},\"after\":\""
    ));
}

#[test]
fn a_file_that_is_cut_anywhere_in_its_last_three_lines_says_so_or_ends_there() {
    let mut rng = Rng::with_seed(5);
    let (all, text) = written(&mut rng, "t", 12);
    let ends: Vec<usize> = text.match_indices('\n').map(|(at, _)| at).collect();
    let from = ends[ends.len() - 4] + 1;
    let mut told = [0; 3];
    for cut in from..text.len() {
        let read = read(&[("t.jsonl", &text.as_bytes()[..cut])]);
        // A line whose last character alone is lacking is whole.
        let whole = ends.iter().filter(|end| **end <= cut).count() - 1;
        assert_eq!(read.ledger.entries, all[..whole], "cut at {cut}");
        assert!(read.ledger.damage.is_empty(), "cut at {cut}");
        let at_an_end = ends.contains(&cut) || ends.contains(&(cut - 1));
        assert_eq!(read.notes.len(), usize::from(!at_an_end), "cut at {cut}: {:?}", read.notes);
        let file = WriterFile::read("t.jsonl", &text.as_bytes()[..cut], None);
        assert_eq!(file.whole == cut, at_an_end);
        assert_eq!(file.lacks_end, ends.contains(&cut));
        told[usize::from(at_an_end) + usize::from(file.lacks_end)] += 1;
    }
    assert!(told[0] > 300 && told[1] == 3 && told[2] == 3, "{told:?}");
}

#[test]
fn a_byte_that_is_changed_in_any_line_puts_what_the_line_spoke_of_in_doubt() {
    let mut rng = Rng::with_seed(6);
    let (all, text) = written(&mut rng, "t", 5);
    let starts: Vec<usize> = [0].into_iter().chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
    let mut tried = 0;
    for at in 0..text.len() {
        for bit in [1_u8, 0x20, 0x80] {
            let mut bytes = text.clone().into_bytes();
            bytes[at] ^= bit;
            tried += 1;
            let read = read(&[("t.jsonl", &bytes)]);
            let line = starts.iter().rposition(|start| *start <= at).unwrap();
            // The end of a line is the end of two: the next one can't be told from it.
            let ended = text.as_bytes()[at] == b'\n';
            let hit = |number: usize| number == line || (ended && number == line + 1);
            for (number, entry) in (1..).zip(&all) {
                let there = read.ledger.entries.contains(entry);
                // Of two lines that became one at the end, the damage has the name of the first.
                let told = is_told(&read, entry)
                    || (ended && number == 5 && read.ledger.damage.iter().any(|damage| covers(damage, entry)))
                    || (number == 5 && read.notes.iter().any(|note| note.contains("has no end")));
                assert_eq!((!there, told), (hit(number), hit(number)), "byte {at}, bit {bit}: entry {number}");
            }
            assert!(!read.ledger.damage.is_empty() || !read.notes.is_empty(), "byte {at}, bit {bit}: silent");
        }
    }
    assert!(tried > 6_000, "{tried}");
}

#[test]
fn lines_that_are_missing_have_names() {
    let mut rng = Rng::with_seed(7);
    let (all, text) = written(&mut rng, "t", 30);
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    for (from, to) in [(1, 2), (3, 4), (2, 10), (4, 20), (1, 30), (5, 29), (28, 30)] {
        let text: String = lines[..from].iter().chain(&lines[to..]).copied().collect();
        let read = read(&[("t.jsonl", text.as_bytes())]);
        assert_eq!(read.ledger.damage.len(), to - from, "{from}..{to}: {:?}", read.ledger.damage);
        assert!(all[from - 1..to - 1].iter().all(|lost| is_told(&read, lost)), "{from}..{to}");
        // Within reach of the next line nothing else is in doubt.
        if to - from <= 16 {
            for (damage, lost) in read.ledger.damage.iter().zip(&all[from - 1..]) {
                let spoken: HashSet<&Id> =
                    lost.on.iter().map(|(id, _)| id).chain(lost.rows.iter().map(|r| &r.id)).collect();
                assert!(damage.cylinders.iter().all(|id| spoken.contains(id)), "{from}..{to}");
            }
        }
    }
}

#[test]
fn copies_of_a_file_complete_each_other_in_any_order() {
    let mut rng = Rng::with_seed(8);
    let (all, text) = written(&mut rng, "t", 12);
    let (others, other) = written(&mut rng, "u", 7);
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    let without = |lost: usize| -> String {
        lines.iter().enumerate().filter(|(at, _)| *at != lost).map(|(_, line)| *line).collect()
    };
    let (one, two) = (without(3), without(9));
    let spoiled = text.replacen("\"by\":", "\"bY\":", 1);
    let shuffled: String = [lines[5], lines[2], lines[2], lines[0]].concat();
    let together: Vec<Entry> = all.iter().chain(&others).cloned().collect();
    let mut files: Vec<(&str, &[u8])> =
        [("one", &one), ("two", &two), ("three", &spoiled), ("four", &shuffled), ("u", &other)]
            .map(|(name, text)| (name, text.as_bytes()))
            .to_vec();
    let first = read(&files);
    for _ in 0..20 {
        rng.shuffle(&mut files);
        let read = read(&files);
        assert_eq!((&read.ledger.entries, &read.ledger.damage), (&together, &Vec::new()));
        assert_eq!(read.notes, first.notes);
    }
    assert_eq!(first.notes.len(), 1, "{:?}", first.notes);
    assert!(first.notes[0].starts_with("three, line 2: its check sum"), "{:?}", first.notes);
    assert!(first.notes[0].ends_with("the entry that belongs here, t/1, is there"), "{:?}", first.notes);
}

#[test]
fn two_entries_of_one_name_are_both_in_doubt_and_the_same_one_counts_in_any_order() {
    let mut rng = Rng::with_seed(9);
    let head = WriterHead { ledger: LEDGER.into(), writer: "van-3".into(), tag: "t".into() };
    let (text, mut tail) = Tail::begin(&head);
    let mut entry = |tail: &Tail| {
        let mut entry = entry(&mut rng, tail.next_id());
        entry.on.push((Id::from(format!("X-{}", rng.u32(..))), Vec::new()));
        entry
    };
    let first = entry(&tail);
    let text = text + &tail.write(&first);
    let mut other = tail.clone();
    let (a, b) = (entry(&tail), entry(&tail));
    let (one, two) = (text.clone() + &tail.write(&a), text + &other.write(&b));
    // Only one of them goes on.
    let c = entry(&tail);
    let longer = one.clone() + &tail.write(&c);
    for (one, two, kept) in [(&one, &two, None), (&longer, &two, Some(&a)), (&two, &longer, Some(&a))] {
        let read = read(&[("1", one.as_bytes()), ("2", two.as_bytes())]);
        let again = self::read(&[("2", two.as_bytes()), ("1", one.as_bytes())]);
        assert_eq!(read.ledger.entries, again.ledger.entries);
        assert!(kept.is_none_or(|kept| read.ledger.entries.contains(kept)));
        assert_eq!(read.ledger.damage.len(), 1);
        assert!(is_told(&read, &a) && is_told(&read, &b), "{:?}", read.ledger.damage);
    }
    // The one that the next was written behind is gone from every copy.
    let mut exchanged: Vec<&str> = longer.split_inclusive('\n').collect();
    exchanged[2] = two.split_inclusive('\n').nth(2).unwrap();
    let read = read(&[("1", exchanged.concat().as_bytes())]);
    assert!(is_told(&read, &a) && is_told(&read, &b), "{:?}", read.ledger.damage);
    assert_eq!(read.ledger.entries.len(), 3);
}

#[test]
fn heads_say_whose_a_file_is_and_what_was_written_under_a_lost_one_still_counts() {
    let mut rng = Rng::with_seed(10);
    let (all, text) = written(&mut rng, "t", 4);
    let (head, rest) = text.split_once('\n').unwrap();
    let foreign = {
        let head = WriterHead { ledger: "other".into(), writer: "van-3".into(), tag: "t".into() };
        Tail::begin(&head).0 + rest
    };
    let newer = line::with_other_format(head);
    for (text, entries, damage, note) in [
        (rest.to_owned(), 4, 0, None),
        (format!("{}\n{rest}", head.replace("van-3", "van-4")), 4, 0, Some("its head can't be believed")),
        (format!("\u{feff}{}", text.replace('\n', "\r\n")), 4, 0, None),
        (foreign, 0, 0, Some("another ledger, other,")),
        (format!("{newer}\n{rest}"), 0, 4, Some("a newer version")),
        (String::new(), 0, 0, None),
        ("no ledger".into(), 0, 0, Some("has no end")),
        (format!("{head}\nsomething\n"), 0, 1, None),
        (format!("{text}something\n"), 4, 1, None),
    ] {
        let read = read(&[("f", text.as_bytes())]);
        assert_eq!((read.ledger.entries.len(), read.ledger.damage.len()), (entries, damage), "{text}");
        assert_eq!(read.notes.len(), usize::from(note.is_some()), "{:?}", read.notes);
        assert!(note.is_none_or(|note| read.notes[0].contains(note)), "{:?}", read.notes);
        assert!(entries == 0 || read.ledger.entries == all);
    }
}

/// What this machine remembers stands in for a line that is gone, and what is missing before it has names.
#[test]
fn a_line_that_is_remembered_completes_its_file() {
    let mut rng = Rng::with_seed(12);
    let (all, text) = written(&mut rng, "t", 12);
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    for kept in [13, 12, 9, 1, 0] {
        let file = WriterFile::read("t.jsonl", lines[..kept].concat().as_bytes(), Some(LEDGER));
        let remembered = WriterFile::remembered("t.jsonl", lines[12].trim_end(), Some(LEDGER));
        let read = read_ledger(vec![file, remembered], &[]);
        let lost = 12_usize.saturating_sub(kept.max(1));
        assert_eq!(read.ledger.damage.len(), lost, "{kept}");
        assert!(all[kept.clamp(1, 12) - 1..11].iter().all(|lost| is_told(&read, lost)), "{kept}");
        assert_eq!((read.ledger.entries.last(), read.notes.len()), (all.last(), 1));
        assert_eq!(WriterHead::of(lines[..kept].concat().as_bytes()).is_some(), kept > 0);
    }
    // The same line, written again into the next file of the same writer.
    let head = WriterHead { ledger: LEDGER.into(), writer: "van-3".into(), tag: "u".into() };
    let (first, mut tail) = Tail::begin(&head);
    let next = entry(&mut rng, tail.next_id());
    let second = format!("{first}{}{}nonsense\n", lines[12], tail.write(&next));
    let read = read(&[("t", lines[..12].concat().as_bytes()), ("u", second.as_bytes())]);
    assert_eq!(read.ledger.entries, all.iter().chain([&next]).cloned().collect::<Vec<_>>());
    let damaged: Vec<String> = read.ledger.damage.iter().map(|one| one.entry.as_ref().unwrap().to_string()).collect();
    assert_eq!(damaged, ["u/2"]);
    let tail = WriterFile::read("u", second.as_bytes(), None).tail.unwrap();
    assert_eq!(tail.next_id().to_string(), "u/3");
}

#[test]
fn a_number_beyond_everything_takes_no_time() {
    let mut rng = Rng::with_seed(11);
    let mut entry = entry(&mut rng, EntryId { tag: "t".into(), number: u64::MAX });
    entry.on.push(("C-1".into(), Vec::new()));
    let sum = line::write_head(&WriterHead { ledger: LEDGER.into(), writer: "w".into(), tag: "t".into() }).1;
    let (line, _) = line::write(&entry, line::Past(Vec::new()), sum);
    let text = format!("{line}\nnothing\n");
    let read = read(&[("f", text.as_bytes())]);
    assert_eq!(read.ledger.entries.len(), 1);
    assert!((200..300).contains(&read.ledger.damage.len()), "{}", read.ledger.damage.len());
}
