//! An inlay for the box of a cassette and a label for its shell, to scale, to be cut out.

use super::flow::wrapped;
use crate::drawing::metrics::fit;
use crate::drawing::{Font, Line, Page, Paint, Pt, Rect, Stroke, Text};
use crate::panel::{Check, LEFT, Paper};
use crate::project::{MachineSound, Plan, Reel};

/// The inlay of a cassette box, millimetres: how wide it is, and how high its back, its spine and its front are (common
/// practice: boxes differ by a millimetre).
const WIDTH: f64 = 101.0;
const BACK: f64 = 22.0;
const SPINE: f64 = 12.5;
const FRONT: f64 = 65.0;
/// The paper label above the hubs of a shell, millimetres (common practice: what lies below it is a window).
const LABEL: (f64, f64) = (88.0, 13.0);

/// Between a line and what is written in it, millimetres.
const MARGIN: f64 = 3.0;
const TITLE: (Font, Pt) = (Font::HelveticaBold, Pt(20.0));
const NAME: (Font, Pt) = (Font::HelveticaBold, Pt(15.0));
const HEAVY: (Font, Pt) = (Font::HelveticaBold, Pt(10.0));
const PLAIN: (Font, Pt) = (Font::Helvetica, Pt(10.0));
const PITCH: f64 = 4.5;

/// The page of a tape that is recorded; nothing of one that is punched.
pub fn draw(plan: &Plan, reel: &Reel, paper: Paper) -> Option<Vec<Page>> {
    let tape = &plan.tapes[reel.tape];
    let sound = tape.sound.as_ref()?;
    let mut sheet = Sheet { page: Page::new(paper.size()) };
    sheet.text((LEFT, 19.0), TITLE, &format!("Inlay and label: {}", tape.name));
    let how = "Cut at the solid lines and fold at the broken ones, the print outside. Boxes differ: hold it against yours first.";
    sheet.text((LEFT, 26.0), PLAIN, how);

    let (left, top) = (LEFT, 32.0);
    sheet.frame((left, top), (WIDTH, BACK + SPINE + FRONT));
    [BACK, BACK + SPINE].into_iter().for_each(|below| sheet.fold(left, top + below));
    let title = format!("{}: {}", plan.name, tape.name);
    let mut back = Cursor { left, right: left + WIDTH, y: top + 6.0 };
    back.lines(&mut sheet, PLAIN, &recorded(reel, sound));
    back.lines(&mut sheet, PLAIN, "Recorded on __________  deck ____________  level _____");
    sheet.text((left + MARGIN, top + BACK + 8.2), NAME, &fit(&title, NAME.0, NAME.1, WIDTH - 2.0 * MARGIN));

    let mut front = Cursor { left, right: left + WIDTH, y: top + BACK + SPINE + 8.5 };
    front.lines(&mut sheet, NAME, &title);
    let character = plan.machine.serial[tape.serial].line.map_or_else(String::new, |line| format!(", {line}"));
    front.lines(&mut sheet, PLAIN, &format!("for {}{character}", plan.machine.serial[tape.serial].name));
    front.y += 1.0;
    let bottom = top + BACK + SPINE + FRONT - MARGIN;
    let mut left_out = 0;
    for program in programs(plan, reel) {
        // Two lines of what is told, and one to say that there is more.
        if front.y + 4.0 * PITCH > bottom {
            left_out += 1;
            continue;
        }
        front.lines(&mut sheet, HEAVY, &program.head);
        front.lines(&mut sheet, PLAIN, &program.told);
    }
    if left_out > 0 {
        front.lines(&mut sheet, PLAIN, &format!("and {left_out} more: see the picture of the tape"));
    }

    let under = top + BACK + SPINE + FRONT + 10.0;
    sheet.frame((left, under), LABEL);
    sheet.text((left + MARGIN, under + 5.5), HEAVY, &fit(&title, HEAVY.0, HEAVY.1, LABEL.0 - 2.0 * MARGIN));
    let names: Vec<_> = reel.programs.iter().map(|program| plan.stages[program.stage].name.as_str()).collect();
    let holds = format!("{}; {} frames", names.join(", "), reel.bytes.len());
    sheet.text((left + MARGIN, under + 10.5), PLAIN, &fit(&holds, PLAIN.0, PLAIN.1, LABEL.0 - 2.0 * MARGIN));
    Some(vec![sheet.page])
}

/// A program on the tape, in words.
struct Told {
    head: String,
    told: String,
}

fn programs<'a>(plan: &'a Plan, reel: &'a Reel) -> impl Iterator<Item = Told> + 'a {
    reel.programs.iter().map(move |program| {
        let stage = &plan.stages[program.stage];
        let notation = plan.machine.panel.notation;
        let places: Vec<_> = stage
            .image
            .extents()
            .map(|extent| format!("{} to {}", notation.address(extent.base), notation.address(extent.last())))
            .collect();
        let frames =
            program.blocks.iter().map(|block| block.start).min().zip(program.blocks.iter().map(|it| it.end).max());
        let frames = frames.map_or_else(String::new, |(from, to)| format!("frames {from} to {}; ", to - 1));
        let check = Check::of(stage.image.extents().map(|extent| extent.bytes)).figures(notation);
        Told {
            head: format!("{}: {}", stage.name, places.join(", ")),
            told: format!("{frames}starts at {}; {check}", notation.address(stage.entry)),
        }
    })
}

/// How it is recorded and how long it plays.
fn recorded(reel: &Reel, sound: &MachineSound) -> String {
    let (modulation, pauses) = (&sound.modulation, &sound.pauses);
    let seconds = pauses.leader + reel.bytes.len() as f64 * modulation.character_seconds() + pauses.trailer;
    format!(
        "Mark {} Hz, space {} Hz, {} baud. {:.1} s of leader, {} frames, {:.1} s of trailer: plays {seconds:.1} s. Start \
         and stop it when the run card says so.",
        modulation.mark_hz(),
        modulation.space_hz(),
        modulation.baud(),
        pauses.leader,
        reel.bytes.len(),
        pauses.trailer,
    )
}

/// Where the next line goes.
struct Cursor {
    left: f64,
    right: f64,
    y: f64,
}

impl Cursor {
    fn lines(&mut self, sheet: &mut Sheet, font: (Font, Pt), text: &str) {
        let room = self.right - self.left - 2.0 * MARGIN;
        for line in wrapped(text, font, room) {
            sheet.text((self.left + MARGIN, self.y), font, &line);
            self.y += PITCH * font.1.0 / PLAIN.1.0;
        }
    }
}

struct Sheet {
    page: Page,
}

impl Sheet {
    fn text(&mut self, (x, y): (f64, f64), (font, size): (Font, Pt), text: &str) {
        self.page.push(Text::new(x, y, font, size, text));
    }

    fn frame(&mut self, (x, y): (f64, f64), (width, height): (f64, f64)) {
        self.page.push(Rect { x, y, width, height, paint: Paint::outline(0.3) });
    }

    fn fold(&mut self, left: f64, y: f64) {
        let stroke = Stroke::new(0.2).dashed(1.5, 1.5);
        self.page.push(Line { from: (left, y), to: (left + WIDTH, y), stroke });
    }
}
