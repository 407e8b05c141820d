//! What a rehearsal plays is what `build` wrote, byte for byte: both come from the same artefacts.

use std::fs;
use std::path::PathBuf;

use coldwright::assembler::{LoadError, Loaded, Loader, built_in};
use coldwright::notation::Notation;
use coldwright::panel::sheet::Action;
use coldwright::project::{Artefacts, Files, Plan, Recording, Recordings, load};
use coldwright::rehearsal::{Request, rehearse};
use coldwright::rom::{PartFormat, contents, part_files};
use coldwright::source::{Diagnostic, Origin, SourceMap};

use super::chain::{example, run};

struct Disk(PathBuf);

impl Files for Disk {
    fn read(&mut self, path: &str) -> Result<(String, Vec<u8>), Diagnostic> {
        Ok((path.to_owned(), fs::read(self.0.join(path)).unwrap()))
    }
}

impl Loader for Disk {
    fn load(&mut self, name: &str, _from: &str) -> Result<Loaded, LoadError> {
        match fs::read(self.0.join(name)) {
            Ok(bytes) => Ok(Loaded { name: name.into(), identity: name.into(), bytes }),
            Err(_) => built_in(name).ok_or_else(|| LoadError { reason: "no such file".into(), tried: Vec::new() }),
        }
    }
}

/// An example with all that is made of it.
struct Made {
    plan: Plan,
    sources: SourceMap,
    artefacts: Artefacts,
}

impl Made {
    fn of(name: &str) -> Made {
        let (mut sources, mut disk) = (SourceMap::default(), Disk(example(name)));
        let (file, text) = disk.read("coldwright.toml").unwrap();
        let id = sources.add(file, text, Origin::Given);
        let plan = load(&mut sources, id, &mut disk).0.unwrap();
        let artefacts = Artefacts::make(&plan, &sources, Recordings::Made).unwrap();
        Made { plan, sources, artefacts }
    }

    /// Whether every start agrees with its description, played from the artefacts as they are now.
    fn agrees(&self) -> bool {
        let request = Request { sound: true, ..Request::default() };
        let agrees =
            |start| rehearse(&self.plan, &self.artefacts, start, &request, &self.sources, None, &mut |_| ()).agrees();
        self.plan.starts.numbered().all(|(start, _)| agrees(start))
    }
}

#[test]
fn what_build_writes_is_what_was_made() {
    let mut kinds = [0; 4];
    for name in ["belfry", "rooster", "lineboot", "probe"] {
        let folder = tempfile::tempdir().unwrap();
        run(&example(name), &["build", "-o", folder.path().to_str().unwrap()]).assert_done();
        let file = |name: &str| fs::read(folder.path().join(name)).unwrap();
        let Made { artefacts, .. } = Made::of(name);
        for made in &artefacts.sheets {
            assert_eq!(file(&format!("{}.txt", made.stem)), made.sheet.text().as_bytes(), "{name}: {}", made.stem);
            kinds[0] += 1;
        }
        for (part, made) in artefacts.sockets.iter().flat_map(|seated| &seated.parts) {
            assert_eq!(file(part), made.bytes, "{name}: {part}");
            kinds[1] += 1;
        }
        for reel in &artefacts.tapes {
            assert_eq!(file(&format!("{}.bin", reel.stem)), reel.bytes, "{name}: {}", reel.stem);
            kinds[2] += 1;
            if let Some(recording) = &reel.recording {
                assert_eq!(file(&format!("{}.wav", reel.stem)), recording.wav, "{name}: {}", reel.stem);
                kinds[3] += 1;
            }
        }
    }
    assert!(kinds.iter().all(|&count| count > 0), "no example has all kinds: {kinds:?}");
}

#[test]
fn a_changed_row_of_a_sheet_is_deposited() {
    let mut made = Made::of("rooster");
    assert!(made.agrees());
    let rows = made.artefacts.sheets[0].sheet.sections.iter_mut().flat_map(|section| &mut section.rows);
    let mut bytes =
        rows.filter_map(|row| if let Action::Byte { byte, .. } = &mut row.action { Some(byte) } else { None });
    *bytes.next().unwrap() ^= 1;
    assert!(!made.agrees());
}

#[test]
fn a_changed_part_file_is_seated() {
    let mut made = Made::of("lineboot");
    assert!(made.agrees());
    let seated = &mut made.artefacts.sockets[0];
    let socket = &made.plan.machine.sockets[seated.socket];
    let mut bytes = contents(socket, &seated.image, Notation::Octal).unwrap();
    bytes[0] ^= 1;
    let files = part_files(socket, &bytes, PartFormat::IntelHex).unwrap();
    for ((_, part), file) in seated.parts.iter_mut().zip(files) {
        part.bytes = file.bytes;
    }
    assert!(!made.agrees());
}

#[test]
fn changed_frames_are_played() {
    let mut made = Made::of("lineboot");
    let block = made.artefacts.tapes[0].programs[0].blocks[0].clone();
    made.artefacts.tapes[0].bytes.swap(block.start + 9, block.start + 10);
    assert!(!made.agrees());
}

#[test]
fn a_changed_recording_is_heard() {
    let mut made = Made::of("belfry");
    assert!(made.agrees());
    let reel = &mut made.artefacts.tapes[0];
    let mut frames = reel.bytes.clone();
    frames[reel.programs[0].blocks[0].start] ^= 1;
    let sound = made.plan.tapes[reel.tape].sound.as_ref().unwrap();
    reel.recording = Some(Recording::of(&frames, sound).unwrap());
    assert!(!made.agrees());
}
