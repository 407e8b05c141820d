//! `language-server`: what an editor is answered over the two streams.

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::path::Path;
use std::process::{Child, ChildStdin, ChildStdout, Stdio};

use proptest::prelude::*;
use serde_json::{Value, json};

use crate::bench::Bench;

/// A source with a name that no line defines; `AGAIN` is near to it.
const WRONG: &str = "\tORG 0\nAGAIN:\tMVI A,5\n\tJMP AGIAN\n\tEND\n";

/// An editor with the server that it started.
struct Editor {
    child: Child,
    to: ChildStdin,
    from: BufReader<ChildStdout>,
    asked: i64,
}

impl Editor {
    fn new(bench: &Bench) -> Editor {
        let mut child = bench.command(&["language-server"]).stdin(Stdio::piped()).spawn().unwrap();
        let (to, from) = (child.stdin.take().unwrap(), BufReader::new(child.stdout.take().unwrap()));
        let mut editor = Editor { child, to, from, asked: 0 };
        assert_eq!(
            editor.ask("initialize", json!({ "capabilities": {} }))["result"]["capabilities"]["hoverProvider"],
            true
        );
        editor
    }

    fn raw(&mut self, text: &str) {
        self.to.write_all(text.as_bytes()).unwrap();
        self.to.flush().unwrap();
    }

    fn send(&mut self, message: Value) {
        let text = message.to_string();
        self.raw(&format!("Content-Length: {}\r\n\r\n{text}", text.len()));
    }

    fn next(&mut self) -> Value {
        let mut length = 0;
        loop {
            let mut line = String::new();
            assert_ne!(self.from.read_line(&mut line).unwrap(), 0, "the server has gone");
            match line.trim().split_once(": ") {
                Some((_, value)) => length = value.parse().unwrap(),
                None => break,
            }
        }
        let mut content = vec![0; length];
        self.from.read_exact(&mut content).unwrap();
        serde_json::from_slice(&content).unwrap()
    }

    fn tell(&mut self, method: &str, params: Value) {
        self.send(json!({ "jsonrpc": "2.0", "method": method, "params": params }));
    }

    fn ask(&mut self, method: &str, params: Value) -> Value {
        self.asked += 1;
        self.send(json!({ "jsonrpc": "2.0", "id": self.asked, "method": method, "params": params }));
        loop {
            let said = self.next();
            if said["id"] == self.asked {
                return said;
            }
        }
    }

    fn open(&mut self, uri: &str, text: &str) {
        let document = json!({ "uri": uri, "languageId": "asm", "version": 1, "text": text });
        self.tell("textDocument/didOpen", json!({ "textDocument": document }));
    }

    /// What is asked of a place in a text.
    fn at(&mut self, method: &str, uri: &str, line: u32, character: u32) -> Value {
        let place = json!({ "line": line, "character": character });
        let asked =
            json!({ "textDocument": { "uri": uri }, "position": place, "context": { "includeDeclaration": true } });
        self.ask(method, asked)["result"].take()
    }

    /// The changes that are offered for any line of a text.
    fn offered(&mut self, uri: &str) -> Value {
        let whole = json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 500, "character": 0 } });
        let asked = json!({ "textDocument": { "uri": uri }, "range": whole, "context": { "diagnostics": [] } });
        self.ask("textDocument/codeAction", asked)["result"].take()
    }

    fn problems(&mut self) -> Value {
        let said = self.next();
        assert_eq!(said["method"], "textDocument/publishDiagnostics", "{said}");
        said["params"]["diagnostics"].clone()
    }

    fn leave(mut self) -> Option<i32> {
        self.ask("shutdown", Value::Null);
        self.tell("exit", Value::Null);
        self.child.wait().unwrap().code()
    }
}

/// The bundled chain of that name, in the folder of a test.
fn chain(bench: &Bench, name: &str) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name);
    for entry in fs::read_dir(folder).unwrap().map(|entry| entry.unwrap()) {
        if entry.path().is_file() {
            bench.put(entry.file_name().to_str().unwrap(), fs::read(entry.path()).unwrap());
        }
    }
}

/// A text after the edits of one file, the last of which comes first.
fn edited(text: &str, edits: &Value) -> String {
    let mut edits: Vec<_> = edits.as_array().unwrap().iter().collect();
    edits.sort_by_key(|edit| {
        std::cmp::Reverse((edit["range"]["start"]["line"].as_u64(), edit["range"]["start"]["character"].as_u64()))
    });
    let offset = |place: &Value| {
        let before = text.split_inclusive('\n').take(place["line"].as_u64().unwrap() as usize);
        before.map(str::len).sum::<usize>() + place["character"].as_u64().unwrap() as usize
    };
    edits.into_iter().fold(text.to_owned(), |mut out, edit| {
        let (start, end) = (offset(&edit["range"]["start"]), offset(&edit["range"]["end"]));
        out.replace_range(start..end, edit["newText"].as_str().unwrap());
        out
    })
}

fn uri(bench: &Bench, name: &str) -> String {
    let path = bench.path(name).display().to_string().replace('\\', "/");
    format!("file://{}{path}", if path.starts_with('/') { "" } else { "/" })
}

#[test]
fn a_mistake_is_told_as_the_command_line_tells_it_and_goes_when_it_is_mended() {
    let bench = Bench::new();
    let file = uri(&bench, "typed.asm");
    let mut editor = Editor::new(&bench);
    editor.open(&file, WRONG);
    let told = editor.problems();
    assert_eq!(told[0]["code"], "symbol-undefined");
    assert!(told[0]["message"].as_str().unwrap().contains("did you mean `AGAIN`?"), "{told}");
    assert_eq!(told[0]["range"]["start"], json!({ "line": 2, "character": 5 }));
    let range = told[0]["range"].clone();
    let change = json!({ "range": range, "text": "AGAIN" });
    editor.tell(
        "textDocument/didChange",
        json!({ "textDocument": { "uri": file, "version": 2 }, "contentChanges": [change] }),
    );
    assert_eq!(editor.problems(), json!([]));
    let start = editor.at("textDocument/definition", &file, 2, 6)[0]["range"]["start"].clone();
    assert_eq!(start, json!({ "line": 1, "character": 0 }));
    assert_eq!(editor.at("textDocument/references", &file, 2, 6).as_array().unwrap().len(), 2);
    assert_eq!(editor.leave(), Some(0));
}

#[test]
fn what_cannot_be_understood_is_refused_and_the_next_question_answered() {
    let bench = Bench::new();
    let file = uri(&bench, "bell.asm");
    let mut editor = Editor::new(&bench);
    editor.raw("Content-Length: 3\r\n\r\n{{{");
    let refused = editor.next();
    assert_eq!((&refused["id"], &refused["error"]["code"]), (&Value::Null, &json!(-32700)));
    assert_eq!(editor.ask("no/such", json!({}))["error"]["code"], -32601);
    assert_eq!(editor.ask("textDocument/hover", json!({ "odd": 1 }))["error"]["code"], -32602);
    // A file that is not open, and one that is there no more.
    let asked = json!({ "textDocument": { "uri": file }, "position": { "line": 1, "character": 2 } });
    assert_eq!(editor.ask("textDocument/hover", asked)["error"]["code"], -32602);
    editor.open(&file, "\tINCLUDE 'gone.asm'\n\tEND\n");
    assert_eq!(editor.problems()[0]["code"], "include-missing");
    assert_eq!(editor.leave(), Some(0));
}

/// Whatever was typed before, the answers are those of a server that sees the text for the first time.
#[test]
fn after_edits_the_answers_are_those_of_a_fresh_server() {
    let bench = Bench::new();
    let file = uri(&bench, "typed.asm");
    let mut editor = Editor::new(&bench);
    editor.open(&file, "");
    editor.problems();
    let mut text = String::new();
    for (version, line) in WRONG.split_inclusive('\n').rev().enumerate() {
        let start = json!({ "line": 0, "character": 0 });
        let change = json!({ "range": { "start": start, "end": start }, "text": line });
        let document = json!({ "uri": file, "version": version + 2 });
        editor.tell("textDocument/didChange", json!({ "textDocument": document, "contentChanges": [change] }));
        text.insert_str(0, line);
        let mut fresh = Editor::new(&bench);
        fresh.open(&file, &text);
        for (method, line, character) in
            [("textDocument/hover", 1, 8), ("textDocument/completion", 2, 5), ("textDocument/documentSymbol", 0, 0)]
        {
            let answers = [&mut editor, &mut fresh].map(|it| it.at(method, &file, line, character));
            assert_eq!(answers[0], answers[1], "{method} of {text:?}");
        }
        assert_eq!(fresh.leave(), Some(0));
    }
    assert_eq!(editor.leave(), Some(0));
}

#[test]
fn a_mistake_is_mended_by_what_is_offered() {
    let bench = Bench::new();
    let file = uri(&bench, "typed.asm");
    let mut editor = Editor::new(&bench);
    editor.open(&file, WRONG);
    editor.problems();
    let line =
        |line: u32| json!({ "start": { "line": line, "character": 0 }, "end": { "line": line, "character": 9 } });
    let mut offered = |at: u32| {
        let asked = json!({ "textDocument": { "uri": file }, "range": line(at), "context": { "diagnostics": [] } });
        editor.ask("textDocument/codeAction", asked)["result"].take()
    };
    assert_eq!(offered(1), json!([]));
    let mend = offered(2);
    assert_eq!(mend[0]["title"], "Write `AGAIN` instead of `AGIAN`");
    assert_eq!(mend[0]["diagnostics"][0]["code"], "symbol-undefined");
    let text = edited(WRONG, &mend[0]["edit"]["changes"][&file]);
    let mut fresh = Editor::new(&bench);
    fresh.open(&file, &text);
    assert_eq!(fresh.problems(), json!([]));
    assert_eq!((editor.leave(), fresh.leave()), (Some(0), Some(0)));
}

#[test]
fn a_name_gets_another_one_in_every_file_of_its_chain() {
    let bench = Bench::new();
    chain(&bench, "belfry");
    let ports = uri(&bench, "ports.asm");
    let mut editor = Editor::new(&bench);
    editor.open(&ports, &bench.text("ports.asm"));
    assert_eq!(editor.problems(), json!([]));
    let mut named = |line: u32, new: &str| {
        let place = json!({ "line": line, "character": 1 });
        let asked = json!({ "textDocument": { "uri": ports }, "position": place, "newName": new });
        editor.ask("textDocument/rename", asked)
    };
    let changes = named(5, "STRIKER")["result"]["changes"].take();
    assert_eq!(changes.as_object().unwrap().len(), 3, "{changes}");
    // A word of the language, a name that is in use, and one that the library reads.
    for (line, new) in [(5, "MOV"), (5, "LAMP"), (2, "CASTAT")] {
        assert_eq!(named(line, new)["error"]["code"], -32602, "{new}");
    }
    // The chain is the same to the byte.
    let image = |bench: &Bench| {
        assert_eq!(bench.run(&["build", "-o", "made"]).code, Some(0));
        ["courier.hex", "chimes.hex", "tape-one.bin"].map(|name| bench.bytes(&format!("made/{name}")))
    };
    let before = image(&bench);
    for (changed, edits) in changes.as_object().unwrap() {
        let name = changed.rsplit('/').next().unwrap();
        bench.put(name, edited(&bench.text(name), edits));
    }
    assert_eq!(image(&bench), before);
    assert!(bench.text("chimes.asm").contains("STRIKER") && !bench.text("chimes.asm").contains("BELLS"));
    assert_eq!(editor.leave(), Some(0));
}

#[test]
fn sizes_addresses_and_the_layout_stand_beside_the_lines_of_a_stage() {
    let bench = Bench::new();
    chain(&bench, "belfry");
    let (keyin, chimes) = (uri(&bench, "keyin.asm"), uri(&bench, "chimes.asm"));
    let mut editor = Editor::new(&bench);
    editor.open(&keyin, &bench.text("keyin.asm"));
    let untidy = bench.text("chimes.asm").replacen("\t", " ", 1).replacen("CHIMES  ", "CHIMES ", 1);
    editor.open(&chimes, &untidy);
    let of = |uri: &str| json!({ "textDocument": { "uri": uri } });
    let lens = editor.ask("textDocument/codeLens", of(&keyin))["result"][0]["command"]["title"].take();
    assert_eq!(lens, "stage keyin: 25 of 25 bytes at the panel");
    // A line that is no instruction makes no byte: what is left is no size of the stage.
    let wrong = bench.text("keyin.asm").replacen("        END", "        JX      KEYIN\n        END", 1);
    let document = json!({ "uri": keyin, "version": 2 });
    editor.tell("textDocument/didChange", json!({ "textDocument": document, "contentChanges": [{ "text": wrong }] }));
    let lens = editor.ask("textDocument/codeLens", of(&keyin))["result"][0]["command"]["title"].take();
    assert_eq!(lens, "stage keyin: not whole; without what is wrong 25 of 25 bytes at the panel");
    // What follows the routine is a table, and no part of it.
    let lenses = editor.ask("textDocument/codeLens", of(&chimes))["result"].take();
    let rest = lenses.as_array().unwrap().iter().find(|it| it["range"]["start"]["line"] == 21).unwrap();
    assert_eq!(rest["command"]["title"], "routine: 19 bytes");
    let range = json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 9, "character": 0 } });
    let asked = json!({ "textDocument": { "uri": chimes }, "range": range });
    let hint = editor.ask("textDocument/inlayHint", asked)["result"][0].take();
    assert_eq!((&hint["position"]["line"], &hint["label"]), (&json!(7), &json!("000400: 061 000 040")));
    let colours = editor.ask("textDocument/semanticTokens/full", of(&chimes))["result"]["data"].take();
    assert!(colours.as_array().is_some_and(|it| it.len() > 100 && it.len().is_multiple_of(5)));
    let asked = json!({ "textDocument": { "uri": chimes }, "options": { "tabSize": 8, "insertSpaces": true } });
    let edits = editor.ask("textDocument/formatting", asked)["result"].take();
    assert_eq!(edited(&untidy, &edits), bench.text("chimes.asm"));
    let folds = editor.ask("textDocument/foldingRange", of(&chimes))["result"].take();
    assert_eq!(folds[0], json!({ "startLine": 0, "endLine": 2, "kind": "comment" }));
    assert_eq!(editor.leave(), Some(0));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    /// Edits of any kind in a file of a chain: what is said then is what a server says that sees the text for the first time.
    #[test]
    fn after_any_edits_a_chain_is_seen_as_by_a_fresh_server(
        edits in proptest::collection::vec((0..20u32, 0..20u32, 0..3u32, "(\n|\tMVI A,|;|X|LIMIT 3|'){0,3}"), 1..10)
    ) {
        let bench = Bench::new();
        chain(&bench, "belfry");
        let file = uri(&bench, "chimes.asm");
        let mut editor = Editor::new(&bench);
        editor.open(&file, &bench.text("chimes.asm"));
        let mut text = bench.text("chimes.asm");
        for (version, (line, character, more, new)) in edits.iter().enumerate() {
            let lines: Vec<&str> = text.split('\n').collect();
            let line = (*line).min(lines.len() as u32 - 1);
            let character = (*character).min(lines[line as usize].len() as u32);
            let end = (line + more).min(lines.len() as u32 - 1);
            let end_character = if end == line { character } else { 0 };
            let range = json!({ "start": { "line": line, "character": character }, "end": { "line": end, "character": end_character } });
            let change = json!({ "range": range, "text": new, "newText": new });
            text = edited(&text, &json!([change]));
            let document = json!({ "uri": file, "version": version + 2 });
            editor.tell("textDocument/didChange", json!({ "textDocument": document, "contentChanges": [change] }));
        }
        let mut fresh = Editor::new(&bench);
        fresh.open(&file, &text);
        for method in ["documentSymbol", "codeLens", "foldingRange", "semanticTokens/full", "hover", "completion", "references"] {
            let answers = [&mut editor, &mut fresh].map(|it| it.at(&format!("textDocument/{method}"), &file, 9, 10));
            prop_assert_eq!(&answers[0], &answers[1], "{} of {:?}", method, text);
        }
        prop_assert_eq!((editor.leave(), fresh.leave()), (Some(0), Some(0)));
    }
}

#[test]
fn a_part_that_nobody_makes_is_mended_in_its_quotes() {
    let bench = Bench::new();
    chain(&bench, "headland");
    let wrong = bench.text("machine.toml").replacen("\"1702A\"", "\"1702B\"", 1);
    let file = uri(&bench, "machine.toml");
    let mut editor = Editor::new(&bench);
    editor.open(&file, &wrong);
    let mend = editor.offered(&file);
    assert_eq!(mend[0]["title"], "Write `\"1702A\"` instead of `\"1702B\"`", "{mend}");
    assert_eq!(edited(&wrong, &mend[0]["edit"]["changes"][&file]), bench.text("machine.toml"));
    assert_eq!(editor.leave(), Some(0));
}

/// A source whose first instruction has a shorter form, since nothing reads the flags behind it.
const LONG: &str = "\tORG 0\nBEGIN:\tMVI A,0\t; none yet\n\tSTA PLACE\n\tJMP BEGIN\nPLACE:\tDS 1\n\tEND BEGIN\n";

#[test]
fn a_shorter_form_is_offered_on_its_line_and_is_what_shorten_proves() {
    let bench = Bench::new();
    bench.put("long.asm", LONG);
    let file = uri(&bench, "long.asm");
    let mut editor = Editor::new(&bench);
    editor.open(&file, LONG);
    editor.problems();
    let mut offered = |line: u32, only: Value| {
        let place = json!({ "line": line, "character": 9 });
        let context = json!({ "diagnostics": [], "only": only });
        let range = json!({ "start": place, "end": place });
        let asked = json!({ "textDocument": { "uri": file }, "range": range, "context": context });
        editor.ask("textDocument/codeAction", asked)["result"].take()
    };
    assert_eq!(offered(4, Value::Null), json!([]));
    assert_eq!(offered(1, json!(["quickfix"])), json!([]));
    let shorter = offered(1, json!(["refactor"]));
    let told = bench.run(&["shorten", "long.asm"]).out;
    let told = String::from_utf8(told).unwrap();
    assert!(told.starts_with("line 2: saves 1 byte, 3 T-states less"), "{told}");
    assert_eq!(shorter[0]["title"], "Save 1 byte, 3 T-states less: `BEGIN: XRA A`");
    assert_eq!(shorter[0]["kind"], "refactor.rewrite");
    assert_eq!(shorter.as_array().unwrap().len(), told.matches("saves").count(), "{shorter} {told}");
    bench.run(&["shorten", "long.asm", "--apply", "-o", "short.asm"]);
    let text = edited(LONG, &shorter[0]["edit"]["changes"][&file]);
    assert_eq!(text, fs::read_to_string(bench.path("short.asm")).unwrap());
    assert_eq!(editor.leave(), Some(0));
}

/// As the chain makes it: with the constants of the stage, and only what the rest of the chain allows.
#[test]
fn a_shorter_form_of_a_stage_is_that_of_its_chain() {
    let bench = Bench::new();
    chain(&bench, "lineboot");
    let text = fs::read_to_string(bench.path("monitor.asm")).unwrap();
    let file = uri(&bench, "monitor.asm");
    let mut editor = Editor::new(&bench);
    editor.open(&file, &text);
    let offered = editor.offered(&file);
    let told = bench.run(&["shorten", "--stage", "monitor"]).out;
    let told = String::from_utf8(told).unwrap();
    assert!(told.matches(": saves ").count() > 0, "{told}");
    assert_eq!(offered.as_array().unwrap().len(), told.matches(": saves ").count(), "{offered} {told}");
    assert_eq!(editor.leave(), Some(0));
}

/// A file of the chain that goes, and one that is far too large: each is told, and the next question answered.
#[test]
fn a_file_that_vanishes_and_one_that_is_too_large_are_told() {
    let bench = Bench::new();
    chain(&bench, "belfry");
    let text = fs::read_to_string(bench.path("chimes.asm")).unwrap();
    let file = uri(&bench, "chimes.asm");
    let mut editor = Editor::new(&bench);
    editor.open(&file, &text);
    assert!(
        editor.at("textDocument/hover", &file, 10, 10).is_object()
            || editor.at("textDocument/documentSymbol", &file, 0, 0).is_array()
    );
    fs::remove_file(bench.path("ports.asm")).unwrap();
    let gone = uri(&bench, "ports.asm");
    let changes = json!({ "changes": [{ "uri": gone, "type": 3 }] });
    editor.tell("workspace/didChangeWatchedFiles", changes);
    let told = loop {
        let said = editor.next();
        if said["params"]["uri"] == file.as_str() && said["params"]["diagnostics"] != json!([]) {
            break said["params"]["diagnostics"].to_string();
        }
    };
    assert!(told.contains("ports.asm"), "{told}");
    fs::File::create(bench.path("ports.asm")).unwrap().set_len(1 << 33).unwrap();
    editor.tell("workspace/didChangeWatchedFiles", json!({ "changes": [{ "uri": gone, "type": 1 }] }));
    let told = loop {
        let said = editor.next();
        let told = said["params"]["diagnostics"].to_string();
        if said["params"]["uri"] == file.as_str() && told.contains("large") {
            break told;
        }
    };
    assert!(told.contains("ports.asm"), "{told}");
    assert!(editor.at("textDocument/documentSymbol", &file, 0, 0).is_array());
    assert_eq!(editor.leave(), Some(0));
}
