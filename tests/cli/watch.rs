//! `--watch`: a run that is done again after every save.

use std::fs;
use std::process::{Child, Stdio};

use crate::bench::{Bench, signal, until};
use crate::chain::example;

/// A chain under watch, with what it says in a file.
struct Watched {
    bench: Bench,
    child: Child,
}

impl Watched {
    fn new(words: &[&str]) -> Watched {
        let bench = Bench::new();
        fs::create_dir(bench.path("chain")).unwrap();
        for entry in fs::read_dir(example("belfry")).unwrap().map(|entry| entry.unwrap().path()) {
            if entry.is_file() {
                fs::copy(&entry, bench.path("chain").join(entry.file_name().unwrap())).unwrap();
            }
        }
        let said = fs::File::create(bench.path("said")).unwrap();
        let errors = said.try_clone().unwrap();
        let mut command = bench.command(words);
        let child = command.stdin(Stdio::null()).stdout(said).stderr(errors).spawn().unwrap();
        Watched { bench, child }
    }

    /// Waits until it has run so many times, and gives all that it said.
    fn runs(&self, times: usize) -> String {
        let said = || self.bench.text("said");
        until("the next run", || said().matches("watching; Ctrl-C ends").count() >= times);
        assert_eq!(said().matches("watching; Ctrl-C ends").count(), times, "{}", said());
        said()
    }

    fn change(&self, from: &str, to: &str) {
        let text = self.bench.text("chain/chimes.asm");
        assert!(text.contains(from));
        // In one step, so that it is one save on the busiest machine.
        self.bench.put("chain/.new", text.replace(from, to));
        fs::rename(self.bench.path("chain/.new"), self.bench.path("chain/chimes.asm")).unwrap();
    }

    fn end(mut self) -> Option<i32> {
        signal(&self.child, "TERM");
        self.child.wait().unwrap().code()
    }
}

#[test]
fn a_check_is_done_again_after_a_save() {
    let watched = Watched::new(&["check", "chain", "--watch", "--brief"]);
    assert!(watched.runs(1).contains("no mistake was found"));
    watched.change("DB      2,1,10Q", "DB      2,1,MISSING");
    assert!(watched.runs(2).contains("chimes.asm:"), "{}", watched.runs(2));
    // The verdict is that of the last run.
    watched.bench.put("chain/.swap", "an editor's own");
    assert_eq!(watched.end(), Some(1));
}

#[test]
fn a_build_is_done_again_and_its_page_follows() {
    let watched = Watched::new(&["build", "chain", "--watch"]);
    watched.runs(1);
    let mark = || watched.bench.text("chain/out/watched.js");
    let page = || watched.bench.text("chain/out/index.html");
    let first = mark();
    let stamp = |mark: &str| mark.split('"').nth(1).unwrap().to_owned();
    assert!(page().contains(&stamp(&first)));
    watched.change("DB      2,1,10Q", "DB      1,2,10Q");
    watched.runs(2);
    assert_ne!(mark(), first);
    assert!(page().contains(&stamp(&mark())) && !page().contains(&stamp(&first)));
    let bench = &watched.bench;
    // A build by itself makes a page that stays as it is.
    bench.run(&["build", "chain"]).assert_done();
    assert!(!page().contains("<script>") && !bench.path("chain/out/watched.js").exists());
    assert_eq!(watched.end(), Some(0));
}
