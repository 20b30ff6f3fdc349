"""What the words and numbers on the screens mean; each screen names those that it uses."""

from __future__ import annotations

GLOSSARY: dict[str, str] = {
    "ΔE": (
        "How different two colours look (CIEDE2000): below 1 nobody sees it, below 2 only side by "
        "side, from 5 on it is another colour; these sizes are common practice, not a standard."
    ),
    "recipe": (
        "One tint of each ink, in the order of laying: 100 % is the solid, 50 % a screen of dots "
        "that covers half of the paper as drawn, and on press somewhat more."
    ),
    "rank": (
        "1 is the best for your colour of all recipes that the limits leave: the nearest, but of "
        "recipes within ΔE 0.2, which nobody sees, the one with fewer inks comes first."
    ),
    "in words": (
        "How the recipe looks beside your colour, the most visible difference first: lighter or "
        "darker, more vivid or duller, and the hue it leans toward."
    ),
    "vividness": (
        "How far a colour is from grey (chroma, or C, in CIELAB); the opposite of vivid is dull."
    ),
    "hue": (
        "Where a colour stands on the colour wheel, whatever its lightness and vividness; as an "
        "angle (CIELAB) red is near 20°, yellow at 90°, green near 165° and blue near 240°."
    ),
    "lightness": "How far a colour is from black, L in CIELAB: black is 0, white 100.",
    "put first": (
        "Sorts by lightness, hue or vividness first: differences in the other two count half; the "
        "first column shows the value that is sorted by, and ΔE stays what it is."
    ),
    "coverage": (
        "The tints of all inks added up, so three solids are 300 %; too much ink dries badly and "
        "smears, so a palette may have a limit, and recipes above it are left out."
    ),
    "within reach": (
        "The nearest recipe is at most ΔE 5 from your colour; above 5 it is another colour (common "
        "practice, no source)."
    ),
    "between your tints": (
        "Your inks could make the colour, but not at the tints you have: you are told which tints "
        "would do it, and the one more tint that would help most if you made a brush for it."
    ),
    "beyond these inks": (
        "No tints of these inks come nearer than ΔE 5: choose another ink, or live with the "
        "nearest and the way it leans."
    ),
    "as given": (
        "The colour is compared as it is (absolute, in the ICC's word), so the white of the screen "
        "is never found on newsprint, whose paper is grey beside it."
    ),
    "white fitted": (
        "The white of your screen stands for the bare paper, and every colour moves with it "
        "(relative, in the ICC's word)."
    ),
    "fitted to this paper": (
        "White stands for the bare paper and black for the darkest recipe, and all between moves "
        "to fit (relative with the black point compensation of ISO 18619); usual for print."
    ),
    "black letters, white": (
        "Whether letters can be read on the colour, printed black or left as bare paper (contrast "
        "ratio of WCAG 2.2): from 7 clear, from 4.5 readable, from 3 only if large, else too faint."
    ),
    "#rrggbb": "What the screen is told to show of a colour (sRGB).",
    "lab(L a b)": (
        "A colour as CIELAB measures it under D50, the light of the print trade: L from black 0 "
        "to white 100, a from green to red, b from blue to yellow."
    ),
    "beyond the screen": (
        "No sRGB screen can show this colour: the screen shows the nearest it can, and the "
        "numbers are those of the true colour."
    ),
    "lines an inch": "How fine the dot screens are: rows of dots over one inch.",
    "dots merge": (
        "From this distance on nobody sees single dots: one of them spans less than 1/60 of a "
        "degree (common practice)."
    ),
    "prints within": (
        "95 % of the palette's colours come out within that ΔE in print; the more swatches were "
        "measured, the less it is, and `tuimatch palettes check` names the next to measure."
    ),
    "overprints estimated": (
        "The palette lacks the measurement of an overprint, which was worked out from the single "
        "inks instead and may be some ΔE 10 off."
    ),
    "on screen, in print": (
        "A palette of print may say how its inks look in the drawing program: you then see the "
        "colour on screen after each ink, and beside it the print."
    ),
    "n": (
        "The Yule-Nielsen factor in a palette's file: how much light spreads in the paper between "
        "the dots; 1 means not at all."
    ),
    "measured, screen": (
        "A measured palette is made from colours of printed sheets; a screen palette describes "
        "layers that multiply in a drawing program and says nothing about print."
    ),
    "swatch": (
        "A patch of one tint on bare paper; its share of ink is what the tint really covers, and "
        "the number after ± says how sure that is."
    ),
    "clean": (
        "A hue that two inks at most can give and that is not greyish: CIELAB chroma 10 or more."
    ),
    "greys": "Colours with hardly any hue, from paper to black, in a column of their own.",
    "conflict": (
        "A label with two recipes, labels too much alike, or a palette that has changed since: "
        "what is wrong and how to put it right stands at the foot."
    ),
    "alike": (
        "Two colours that differ for most people, ΔE 10 or more, and hardly for someone who is "
        "colour-blind: less than 5, by the model of Machado and others (2009)."
    ),
    "protan, deutan, tritan": (
        "The three kinds of colour blindness: red, green or blue is not seen as its own colour."
    ),
    "pass": "All areas that get the same ink at the same tint, laid one after another.",
    "change of brush": "A new ink or a new tint; the first set-up counts as one.",
    "tolerance": (
        "How much further in ΔE than its nearest recipe an area may be, so that it can share a "
        "pass with others: off 0, a little 1, some 2, a lot 4."
    ),
    "proved": "Every choice of recipes was ruled out or tried, so none is better.",
    "stopped early": (
        "The search took too long and gave the best it found; at most so much more could be won."
    ),
    "total ΔE": "The ΔE of all areas added up: how far the page or project is off as a whole.",
    "flat": "An area of one colour in a coloured page, or all areas of that colour.",
    "given": "How much two flats differ in the page as you coloured it, in ΔE.",
    "line art": "The colour of the drawn lines, which is left out of the matching.",
    "locked": "A flat that keeps its recipe, whatever becomes of the others.",
    "plate": "What one ink prints, in black; a press needs one for each ink.",
    "proof": "A picture of the page as it is expected to print.",
}

CAUTIONS: tuple[str, ...] = (
    "A preview on a screen is not a contract proof: screens differ, and paper in the hand is lit "
    "differently.",
    "The printer decides how much ink the paper takes, and which paper it will be: ask before "
    "you rely on a limit given here.",
    "A predicted colour is as good as the measurements its palette is made from, and no press "
    "prints two sheets quite alike.",
)
