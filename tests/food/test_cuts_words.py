"""The whole word list of the household vocabulary notes (part d), each to its cut or to a question."""

from __future__ import annotations

import pytest

from freezerbox.errors import AmbiguousWord, InputError, UnknownWord
from freezerbox.food.cuts import Species, resolve_cut, species, species_list
from freezerbox.food.kinds import cell_list
from freezerbox.food.tables import read_rows

ASKS = "asks"

# species | what it is (cut, cut/form, or asks) | words
LIST = """
whitetail|backstrap|backstrap; backstraps; back strap; Back-Straps; outside loin; striploin; BS; loins
whitetail|backstrap/chops|backstrap chops; loin chops
whitetail|backstrap/whole|backstrap whole; whole backstrap
whitetail|backstrap/half|backstrap half; backstrap halves; half backstrap
whitetail|backstrap/third|backstrap thirds
whitetail|backstrap/pieces|backstrap pieces
whitetail|backstrap/medallions|backstrap medallions
whitetail|backstrap/butterflied|butterfly steaks; butterflied backstrap
whitetail|tenderloin|tenderloin; tenderloins; inner loin; inside tenderloin; filet mignon; undercut; TL; inner fillets
whitetail|saddle|saddle
whitetail|rib-rack|rib rack; rack; best end; bone-in backstrap
whitetail|rib-chops|rib chops
whitetail|top-round|top round; inside round; topside; cushion
whitetail|top-round/cutlets|top round cutlets
whitetail|bottom-round|bottom round; outside round; silverside; flat
whitetail|eye-of-round|eye of round; eye round; salmon cut
whitetail|sirloin-tip|sirloin tip; sirloin-tip; round tip; knuckle; football; thick flank
whitetail|sirloin-tip/roast|sirloin tip roast; football roast; tip roast
whitetail|sirloin-tip/kebab|sirloin tip kebab
whitetail|top-sirloin|sirloin butt; top sirloin
whitetail|top-sirloin/steaks|rump steak; top sirloin steaks
elk|sirloin-cap|sirloin cap; culotte; picanha; coulotte
elk|tri-tip|tri-tip; tri tip; tritip; rump tip
whitetail|heel|heel; heel of round; gastro
whitetail|shank|shank; shanks; shin; hind shank; fore shank; lower leg; drumstick
whitetail|shank/cross-cut|osso buco; cross cut; shank cross-cut
whitetail|shank/boneless|boneless shank
whitetail|haunch|haunch; hindquarter; hind leg
whitetail|haunch/whole|whole haunch
whitetail|front-shoulder|front quarter; clod; front shoulder
whitetail|front-shoulder/bone-in|blade-in shoulder
whitetail|shoulder-blade/roast|blade roast; pot roast
whitetail|shoulder-blade|7-bone
whitetail|arm-roast|arm roast
whitetail|flat-iron|flat iron; top blade; feather blade; oyster blade; lifter; book
whitetail|mock-tender|mock tender; chuck tender; scotch tender; chuck fillet; fish muscle
elk|shoulder-tender|shoulder tender; teres major; petite tender; bistro filet
whitetail|neck|neck; scrag
whitetail|neck/roast|neck roast; neck pot roast
whitetail|neck/bone-in|bone-in neck
whitetail|neck/rolled|neck rolled
whitetail|brisket|brisket; breast
whitetail|plate|plate
whitetail|skirt|skirt; inside skirt; outside skirt
whitetail|hanger|hanger; onglet
whitetail|flank|flank
whitetail|ribs|ribs; spare ribs
whitetail|short-ribs|short ribs
whitetail|ribs/boneless|rib meat
whitetail|riblets|riblets
whitetail|stew|stew
whitetail|stew/cubes|cubes; stew small
whitetail|stew/chunks|stew big
whitetail|kebab-meat|kebab; kebabs; kabobs
whitetail|cubed-steaks|cube steak; minute; minute steak; tenderised steak; steaks, cubed; cubed steaks
whitetail|jerky-meat|jerky meat
whitetail|jerky-meat/strips|jerky strips
whitetail|jerky-meat/slab|jerky slab
whitetail|trim|trim; scrap; grind pile; burger trim
whitetail|ground|ground; hamburger; grind; mince; GR
whitetail|ground/tube|ground tube; ground chub; tube
whitetail|ground/bulk|ground flat bag
whitetail|ground/patties|patties; ground patties
whitetail|bacon-burger|bacon burger
whitetail|breakfast-sausage|breakfast; breakfast sausage
whitetail|italian-sausage|Italian; Italian sausage
whitetail|bratwurst|brat; brats; bratwurst
whitetail|summer-sausage|summer sausage
whitetail|snack-sticks|snack sticks
whitetail|pepperoni|pepperoni
whitetail|salami|salami
whitetail|bologna|bologna
whitetail|meatballs|meatballs
whitetail|jerky|jerky
whitetail|breakfast-sausage/bulk|breakfast sausage bulk
whitetail|italian-sausage/links|Italian links
whitetail|heart|heart; hearts
whitetail|liver|liver
whitetail|liver/slices|sliced liver
whitetail|heart/half|heart half
whitetail|tongue|tongue
whitetail|kidney|kidney; kidneys
whitetail|caul-fat|caul
whitetail|stock-bones|stock bones; soup bones
whitetail|marrow-bones|marrow; marrow bones
whitetail|dog-scraps|dog scraps
whitetail|tallow|tallow
whitetail|suet|suet
whitetail|asks|sirloin
whitetail|asks|loin; fillet; filet; rump; butt; London broil; leg; round; cutlet; cutlets; strip; strips; flap
whitetail|asks|blade; shoulder; side; chops; mock tenderloin; chuck; chuck roast; ball tip
whitetail|asks|bavette; burger; brgr; steak
whitetail|asks|roast; ham; sausage; links; chunks; medallions; fat; quarter; whole
beef|chuck-roast|chuck roast
beef|seven-bone-roast|7-bone; 7-bone roast
beef|arm-roast|arm roast
beef|cross-rib|cross rib; Boston cut
beef|cross-rib/roast|English roast
beef|shoulder-clod|shoulder clod; clod
beef|chuck-eye|chuck eye
beef|denver|Denver
beef|flat-iron|flat iron; top blade; feather
beef|mock-tender|mock tender
beef|shoulder-tender|shoulder tender
beef|neck|neck
beef|short-ribs|short ribs
beef|leg-of-mutton-cut|leg-of-mutton cut
beef|ribeye|ribeye; rib eye; rib-eye; Delmonico; Scotch fillet
beef|standing-rib-roast|prime rib; standing rib roast; fore rib; prime rib roast
beef|back-ribs|back ribs
beef|tomahawk|tomahawk
beef|t-bone|T-bone; t bone; tbone
beef|porterhouse|porterhouse
beef|strip-loin|strip; New York; Kansas City; top loin
beef|tenderloin|tenderloin
beef|tenderloin/roast|chateaubriand
beef|top-sirloin|top sirloin
beef|sirloin-cap|coulotte; picanha
beef|tri-tip|tri-tip
beef|bottom-sirloin|bottom sirloin
beef|sirloin-ball-tip|sirloin ball tip
beef|sirloin-flap|flap
beef|top-round|top round; topside
beef|bottom-round|bottom round; silverside
beef|eye-of-round|eye of round
beef|sirloin-tip|sirloin tip; knuckle; thick flank; round tip
beef|heel|heel
beef|cubed-steaks|cube steak
beef|skirt|skirt
beef|hanger|hanger
beef|flank|flank
beef|brisket|brisket
beef|brisket-flat|brisket flat
beef|brisket-point|brisket point
beef|shank|shank
beef|shank/cross-cut|osso buco
beef|ground|ground beef; hamburger; mince
beef|ground/patties|patties
beef|stew|stew
beef|liver|liver
beef|heart|heart
beef|tongue|tongue
beef|oxtail|oxtail; ox tail
beef|cheek|cheek
beef|kidney|kidney
beef|suet|suet
beef|stock-bones|soup bones
beef|marrow-bones|marrow bones
beef|dog-bones|dog bones
beef|asks|sirloin; fillet; filet; rump; rump roast; butt; loin; London broil; leg; round; cutlet; cutlets
beef|asks|blade; shoulder
beef|asks|side; chops; ribs; mock tenderloin; chuck; ball tip; bavette; burger; steak; roast; sausage; fat
pork|boston-butt|Boston butt; blade
pork|boston-butt/steaks|pork steak
pork|coppa|coppa
pork|cottage-bacon|cottage bacon
pork|boston-butt/roast|pulled-pork roast
pork|picnic|picnic; arm; hand
pork|loin|loin
pork|loin/chops|chops; loin chops; centre chops; pork chops
pork|loin/boneless-chops|boneless loin chops; boneless chops
pork|rib-chops|rib chops
pork|sirloin-end|sirloin end
pork|loin/roast|loin roast
pork|tenderloin|tenderloin
pork|baby-back-ribs|baby back
pork|country-ribs|country ribs
pork|canadian-bacon|Canadian-style
pork|belly|fresh side
pork|belly/slab|belly slab
pork|bacon|bacon
pork|spare-ribs|spare ribs
pork|fresh-ham|fresh ham
pork|cured-ham|cured ham; smoked ham; gammon
pork|fresh-ham/cutlets|schnitzel
pork|hock|hock
pork|jowl|jowl
pork|cheek|cheek
pork|guanciale|guanciale
pork|feet|trotter; feet
pork|neck-bones|neck bones
pork|back-fat|back fat
pork|leaf-lard|leaf lard
pork|liver|liver
pork|ears|ears
pork|head|head
pork|fresh-sausage|plain sausage
pork|breakfast-sausage|breakfast
pork|italian-sausage|Italian
pork|bratwurst|brat
pork|scrapple|scrapple
pork|asks|butt; ham; ham steak; shoulder; side; ribs; sausage; burger; steak
pork|asks|roast; fillet; links; London broil; bavette
lamb|lamb-leg|leg; gigot; leg of lamb
lamb|lamb-leg/whole|leg whole
lamb|lamb-leg/half|half leg
lamb|lamb-leg/butterflied|butterflied leg
lamb|lamb-leg/rolled|boneless rolled leg
lamb|lamb-leg/steaks|centre steak
lamb|sirloin-end|sirloin end
lamb|loin/chops|loin chops
lamb|rib-rack|rack; rack of lamb
lamb|rib-chops|rib chops; cutlets
lamb|saddle|saddle
lamb|lamb-shoulder/roast|shoulder roast
lamb|lamb-shoulder/bone-in-roast|shoulder roast bone-in
lamb|lamb-shoulder/rolled|rolled shoulder
lamb|lamb-shoulder/chops|blade chops; arm chops; shoulder chops
lamb|neck/slices|neck slices
lamb|lamb-breast|breast; flap
lamb|riblets|riblets
lamb|shank|shank
lamb|stew|stew
lamb|ground|ground
lamb|asks|chops; steak; roast; side; fillet; London broil
chicken|whole-bird|whole; whole chicken; game hen; fryer; roaster
chicken|whole-bird/butterflied|spatchcock
chicken|half-bird|half
chicken|stewing-hen|stewing hen
chicken|breast|breast; breasts
chicken|breast/whole|whole breast
chicken|breast/half|breast half; breast halves
chicken|thigh|thigh
chicken|whole-leg|leg quarter; leg quarters
chicken|drumstick|drumstick
chicken|wing|wing; wings
chicken|bird-carcass|back; carcass
chicken|neck|neck
chicken|giblets|giblets
chicken|feet|feet
chicken|ground|ground; ground chicken
chicken|asks|leg; fillet; roast; steak; sausage
turkey|breast/cutlets|cutlets
duck|whole-leg|legs
duck|breast|breast; duck breast
wild-duck|breast|duck breast
wild-turkey|thigh|thighs
wild-turkey|breast|breasts
wild-turkey|asks|legs
pheasant|whole-bird|whole
rabbit|saddle|saddle
rabbit|whole-animal|whole; whole rabbit
rabbit|hind-leg|hind legs
rabbit|asks|leg
walleye|whole-fish|whole dressed; whole
salmon|fish-side|side
salmon|fish-fillet|fillet; fillets; filet; fillet skin on; fillet skin off; pin-bone in; pin-bone out; salmon fillet
salmon|fish-portion|portion; portions
salmon|fish-steak|steak; steaks
other-fish|fish-loin|loin; tuna loin
salmon|fish-belly|belly
salmon|collar|collar
halibut|fish-cheek|cheeks
salmon|fish-tail|tail
cod|roe|roe; cod roe
salmon|smoked-fish|smoked
salmon|canned-fish|canned; canned salmon
|asks|sirloin; fillet; rump; butt; loin; London broil; leg; round; cutlet; strip; flap; blade; shoulder; side
|asks|chops; ribs
|asks|mock tenderloin; chuck; ball tip; bavette; burger; steak; roast; ham; sausage; loin chops
|mystery|mystery; mystery meat; unknown
|other|other
|tenderloin|tenderloin
|loin/chops|pork chops; pork loin chops
"""

CASES = [
    (animal, expected, word.strip())
    for line in LIST.strip().splitlines()
    for animal, expected, words in [line.split("|")]
    for word in words.split(";")
]


@pytest.mark.parametrize(("animal", "expected", "word"), CASES)
def test_each_word_of_the_notes_is_its_cut_or_a_question(animal: str, expected: str, word: str) -> None:
    seen_from = species(animal) if animal else None
    if expected == ASKS:
        with pytest.raises(AmbiguousWord) as asked:
            resolve_cut(word, seen_from)
        assert len(asked.value.choices) >= 2
        return
    found = resolve_cut(word, seen_from)
    cut_key, _, form_key = expected.partition("/")
    assert (found.cut.key, found.form.key if found.form else "") == (cut_key, form_key)


# The words that needs.md and the issue say must never be guessed, with no species known.
NEVER_GUESSED = (
    "sirloin; fillet; filet; rump; butt; loin; London broil; leg; round; cutlet; strip; flap; blade; shoulder; side; "
    "chops; ribs; chuck; bavette; burger; steak; roast; ham; sausage; mock tenderloin; ball tip"
)


@pytest.mark.parametrize("word", NEVER_GUESSED.split("; "))
def test_words_never_guessed_stay_questions_when_nothing_settles_them(word: str) -> None:
    for animal in (None, species("other")):
        with pytest.raises(AmbiguousWord) as asked:
            resolve_cut(word.upper(), animal)
        assert repr(word.upper()) in asked.value.message
        for choice, meaning in asked.value.choices:
            assert choice in asked.value.message
            assert meaning


ASKING = [row for row in read_rows("words.csv") if row["ask"]]


@pytest.mark.parametrize("row", ASKING, ids=[f"{row['word']}:{row['klasses'] or 'any'}" for row in ASKING])
def test_every_choice_offered_stands_for_one_thing_and_none_is_lost(row: dict[str, str]) -> None:
    words = cell_list(row["klasses"])
    seen_from = [each for each in species_list() if each.key in words or each.klass in words] if words else [None]
    asked_once = False
    for animal in seen_from:
        try:
            resolve_cut(row["word"], animal)
        except AmbiguousWord as asked:
            offered = [choice for choice, _ in asked.choices]
            senses = [resolve_cut(choice, animal) for choice in offered]  # none of them asks or is unknown
            assert len({(each.cut.key, each.form) for each in senses}) >= (1 if animal is None else 2)
            if animal is None or animal.key in words or not _narrower_row(row["word"], animal.key):
                assert offered == [choice.partition("=")[0].strip() for choice in row["choices"].split("|")]
                asked_once = True
    assert asked_once


def _narrower_row(word: str, animal: str) -> bool:
    return any(row["word"] == word and animal in cell_list(row["klasses"]) for row in read_rows("words.csv"))


@pytest.mark.parametrize("animal", [None, *species_list()], ids=lambda each: each.key if each else "none")
def test_no_word_of_the_table_breaks_for_any_animal(animal: Species | None) -> None:
    """Each word, seen from each animal: a cut, a question whose choices all resolve, or a clear refusal."""
    unclear = []
    for row in read_rows("words.csv"):
        try:
            resolve_cut(row["word"], animal)
        except AmbiguousWord as asked:
            for choice, _ in asked.choices:
                resolve_cut(choice, animal)
        except UnknownWord as unknown:  # "chuck" on a fish
            says_another_animal = row["word"] in ("game hen", "salmon cut", "fish muscle")
            unclear += [row["word"]] if "is not a cut of" not in unknown.message and not says_another_animal else []
        except InputError as refused:  # "duck fat" on a deer
            unclear += [row["word"]] if "the animal here is" not in refused.message else []
    assert not unclear


def test_corrections_of_the_issue_hold() -> None:
    deer = species("whitetail")
    for word, other in [
        ("saddle", "backstrap"),
        ("haunch", "top round"),
        ("hanger", "skirt"),
        ("sirloin flap", "flank"),
    ]:
        assert resolve_cut(word, deer).cut != resolve_cut(other, deer).cut
    assert resolve_cut("kebab", deer).cut.cue == "either"
    assert resolve_cut("meat chunks", deer).cut.cue == "either"
    assert resolve_cut("stew", deer).cut.cue == "slow"


def test_a_species_in_the_words_settles_them_and_is_told() -> None:
    found = resolve_cut("pork chops", None)
    assert found.species == species("pork")
    assert resolve_cut("duck breast", species("wild-duck")).cut.key == "breast"
    assert resolve_cut("venison heart", species("elk")).cut.key == "heart"


def test_a_species_in_the_words_that_is_not_the_animal_is_refused() -> None:
    with pytest.raises(InputError, match=r"The cut says 'pork', but the animal here is 'whitetail deer'"):
        resolve_cut("pork chops", species("whitetail"))


def test_household_words_come_first_even_before_a_question() -> None:
    deer = species("whitetail")
    own = {"the good stuff": "backstrap", "loin": "backstrap", "Sunday joint": "sirloin tip roast"}
    assert resolve_cut("The Good Stuff", deer, own).cut.key == "backstrap"
    assert resolve_cut("loin", deer, own).cut.key == "backstrap"
    found = resolve_cut("loin half", deer, own)
    assert (found.cut.key, found.form and found.form.key) == ("backstrap", "half")
    sunday = resolve_cut("sunday joints", deer, own)
    assert (sunday.cut.key, sunday.form and sunday.form.key) == ("sirloin-tip", "roast")
    with pytest.raises(AmbiguousWord):
        resolve_cut("loin", deer)


@pytest.mark.parametrize(
    ("text", "animal", "fat"),
    [
        ("ground 80/20", "elk", 20),
        ("80/20", "elk", 20),
        ("ground 10%", "elk", 10),
        ("10% fat ground", "elk", 10),
        ("90% lean ground", "elk", 10),
        ("ground no fat", "elk", 0),
        ("ground NF", "elk", 0),
        ("nf", "elk", 0),
        ("ground, plain", "elk", 0),
        ("plain", "elk", 0),
        ("plain ground", "pork", None),  # a hog's plain ground is unseasoned, not fatless
        ("ground", "elk", None),
        ("ground patties 15%", "beef", 15),
    ],
)
def test_fat_is_read_out_of_the_words(text: str, animal: str, fat: int | None) -> None:
    found = resolve_cut(text, species(animal))
    assert found.cut.key == "ground"
    assert found.fat_percent == fat


def test_a_ratio_that_is_not_lean_to_fat_is_not_taken_for_one() -> None:
    with pytest.raises(UnknownWord):
        resolve_cut("ground 80/30", species("elk"))


@pytest.mark.parametrize(
    ("typed", "meant", "animal"),
    [
        ("backstarp", "backstrap", "whitetail"),
        ("tenderlion", "tenderloin", "whitetail"),
        ("brisquet", "brisket", "beef"),
        ("sirlion tip", "sirloin tip", "whitetail"),
        ("sirlion tip raost", "sirloin tip roast", "whitetail"),
        ("bostn but", "boston butt", "pork"),
        ("drumstik", "drumstick", "chicken"),
        ("filet minon", "filet mignon", "beef"),
        ("hart", "heart", "whitetail"),
    ],
)
def test_a_misspelling_is_refused_and_the_word_proposed(typed: str, meant: str, animal: str) -> None:
    with pytest.raises(UnknownWord) as unknown:
        resolve_cut(typed, species(animal))
    assert unknown.value.near[0] == meant
    assert len(unknown.value.near) <= 5
    assert repr(typed) in unknown.value.message
    assert meant in unknown.value.message


def test_the_household_own_word_is_proposed_too() -> None:
    with pytest.raises(UnknownWord) as unknown:
        resolve_cut("gratchki", species("elk"), {"gratschki": "shank"})
    assert unknown.value.near == ("gratschki",)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("slices", "names a form, not a cut"),
        ("salmon", "names the animal, not the cut"),
        ("", "No cut was given"),
        ("  --  ", "'--' is no cut: it has no letters"),
        ("pheasant", "such as whole pheasant or breast"),
        ("rabbit", "such as whole rabbit."),
        ("walleye", "such as whole walleye or fillet"),
        ("qqqqwwww", "is not a cut known here"),
        ("é" * 200, "is not a cut known here"),
    ],
)
def test_what_is_no_cut_is_refused_in_plain_words(typed: str, says: str) -> None:
    with pytest.raises(UnknownWord, match=says):
        resolve_cut(typed, species("whitetail"))
