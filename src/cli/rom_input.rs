use std::path::Path;

use super::files;
use super::report::Report;
use crate::image::Image;
use crate::notation::Address;
use crate::source::{Origin, Position, SourceMap};

pub fn load(path: &Path, origin: u16, report: &mut Report) -> Option<(Image, SourceMap)> {
    let bytes = files::read(path).map_err(|problem| report.problem(problem)).ok()?;
    let mut sources = SourceMap::default();
    let source = sources.add(path.display().to_string(), "", Origin::Given);
    let mut image = Image::default();
    image.insert(Address(origin), &bytes, Position { source, offset: 0 }).ok()?;
    Some((image, sources))
}
