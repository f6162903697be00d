//! Hatching of fabrics: each has a pattern in black lines over its own colour, so that it can be told apart on a
//! black-and-white printer as well as on a screen.

use std::fmt::Write as _;

/// How many patterns there are before they begin again; letters tell the fabrics apart in any case.
pub(crate) const KINDS: usize = 12;

/// Lines of one tile, 4 x 4 mm, in drawing units of a millimetre.
const TILES: [&str; KINDS] = [
    // Slanted lines, one way and the other.
    "<path d=\"M-1 1L1 -1M0 4L4 0M3 5L5 3\"/>",
    "<path d=\"M-1 3L1 5M0 0L4 4M3 -1L5 1\"/>",
    // Dots.
    "<circle cx=\"1\" cy=\"1\" r=\"0.45\"/><circle cx=\"3\" cy=\"3\" r=\"0.45\"/>",
    // Upright and lying lines.
    "<path d=\"M1 0V4M3 0V4\"/>",
    "<path d=\"M0 1H4M0 3H4\"/>",
    // Crossed lines, upright and slanted.
    "<path d=\"M2 0V4M0 2H4\"/>",
    "<path d=\"M0 0L4 4M4 0L0 4\"/>",
    // Rings, small crosses, zigzag, bricks, dashes.
    "<circle cx=\"2\" cy=\"2\" r=\"1.1\" fill=\"none\"/>",
    "<path d=\"M1 0.2V1.8M0.2 1H1.8M3 2.2V3.8M2.2 3H3.8\"/>",
    "<path d=\"M0 1L1 0L3 2L4 1M0 3L1 2L3 4L4 3\"/>",
    "<path d=\"M0 0H4M0 2H4M1 0V2M3 2V4\"/>",
    "<path d=\"M0.4 1H2M2.4 3H4\"/>",
];

/// Name of the pattern of the fabric with that index, unique on the page.
pub(crate) fn id(fabric: usize) -> String {
    format!("cloth{fabric}")
}

/// The pattern definitions of fabrics with these colours, to stand inside `<defs>`.
pub(crate) fn definitions<'a>(colours: impl IntoIterator<Item = &'a str>) -> String {
    let mut text = String::new();
    for (fabric, colour) in colours.into_iter().enumerate() {
        let colour = safe_colour(colour);
        // Black lines vanish on a dark colour and white ones on paper printed without backgrounds, so the colour
        // is thinned under black lines.
        let _ = write!(
            text,
            "<pattern id=\"{}\" width=\"4\" height=\"4\" patternUnits=\"userSpaceOnUse\">\
             <rect width=\"4\" height=\"4\" fill=\"#ffffff\"/>\
             <rect width=\"4\" height=\"4\" fill=\"{colour}\" fill-opacity=\"0.45\"/>\
             <g stroke=\"#000000\" stroke-width=\"0.3\" fill=\"#000000\">{}</g></pattern>",
            id(fabric),
            tile(fabric),
        );
    }
    text
}

fn tile(fabric: usize) -> String {
    let tile = TILES[fabric % KINDS];
    // Paths are lines only; without this their inside would be filled.
    tile.replace("<path ", "<path fill=\"none\" ")
}

/// The colour if it is plain `#rrggbb`, else a light grey: nothing else ever reaches the drawing.
pub(crate) fn safe_colour(colour: &str) -> &str {
    let plain = colour.len() == 7
        && colour.starts_with('#')
        && colour.bytes().skip(1).all(|digit| digit.is_ascii_hexdigit());
    if plain { colour } else { "#d0d0d0" }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn neighbours_differ_without_colour() {
        let grey = ["#808080"; KINDS];
        let all = definitions(grey);
        let mut tiles: Vec<&str> = TILES.to_vec();
        tiles.sort_unstable();
        tiles.dedup();
        assert_eq!(tiles.len(), KINDS);
        assert_eq!(all.matches("<pattern ").count(), KINDS);
    }

    #[test]
    fn only_plain_colours_reach_the_drawing() {
        assert_eq!(safe_colour("#12abEF"), "#12abEF");
        for bad in ["red", "#12", "#12345g", "\"/><script>", "#1234567", "#ééé"] {
            assert_eq!(safe_colour(bad), "#d0d0d0", "{bad}");
        }
    }
}
