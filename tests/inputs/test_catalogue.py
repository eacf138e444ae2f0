"""Catalogues: whatever does not fit together is refused, with file, entry, key and remedy."""

import shutil
from decimal import Decimal
from pathlib import Path

import pytest

from recommender.inputs.catalogue import Catalogue, read_catalogue
from recommender.inputs.catalogue_entries import described
from recommender.inputs.errors import InputError
from recommender.inputs.files import shipped

STANDARD = "carriers-standard.toml"
PAIR = "carriers-coupled-pair.toml"
BELOW = "carriers-bottom-supported.toml"


@pytest.fixture(scope="module")
def demonstration() -> Catalogue:
    return read_catalogue(shipped("catalog"))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(shipped("catalog"), tmp_path / "catalog"))


def refusal(folder: Path) -> str:
    with pytest.raises(InputError) as refused:
        read_catalogue(folder)
    return str(refused.value).replace(f"{folder}/", "").replace(str(folder), "catalog")


def changed(folder: Path, name: str, old: str, new: str) -> str:
    """What is said of a catalogue in which the first ``old`` of a file is ``new``."""
    path = folder / name
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return refusal(folder)


class TestTheDemonstrationCatalogue:
    def test_holds_every_family_in_variants(self, demonstration: Catalogue) -> None:
        count = {
            family.id: sum(carrier.family == family.id for carrier in demonstration.carrier)
            for family in demonstration.family
        }
        assert count.keys() == {"standard", "large-magnet", "bottom-supported", "coupled-pair"}
        assert count["standard"] >= 2
        assert min(count.values()) >= 2
        assert count["large-magnet"] >= 3
        assert count["bottom-supported"] >= 3
        assert count["coupled-pair"] >= 3

    def test_holds_bends_with_and_without_transitions(self, demonstration: Catalogue) -> None:
        eased = [bend.transition > 0 for bend in demonstration.bend]
        assert eased.count(False) >= 2
        assert eased.count(True) >= 1

    def test_bends_take_no_feeds_unless_the_catalogue_says_so(
        self, demonstration: Catalogue, folder: Path
    ) -> None:
        assert not any(bend.takes_feed for bend in demonstration.bend)
        path = folder / "guide.toml"
        text = path.read_text(encoding="utf-8")
        path.write_text(text.replace("sections = 3", "sections = 3\ntakes_feed = true", 1))
        assert [bend.takes_feed for bend in read_catalogue(folder).bend] == [True, False, False]

    def test_says_that_it_is_invented(self, demonstration: Catalogue) -> None:
        assert "invented" in demonstration.catalogue.title
        for file in shipped("catalog").glob("*.toml"):
            assert "Invented" in file.read_text(encoding="utf-8").splitlines()[0]

    def test_has_prices_of_whole_cents(self, demonstration: Catalogue) -> None:
        assert all(
            part.price == part.price.quantize(Decimal("0.01")) for part in demonstration.carrier
        )

    def test_finds_entries_by_id(self, demonstration: Catalogue) -> None:
        for id_ in demonstration.ids:
            entry = demonstration.entry(id_)
            assert entry is not None
            assert entry.id == id_
        assert demonstration.entry("nothing") is None

    def test_describes_entries_with_units(self, demonstration: Catalogue) -> None:
        roller = demonstration.rollers["v-22"]
        said = described(roller, "EUR")
        assert said["diameter"] == "22 mm"
        assert said["dynamic_rating"] == "3900 N"
        carrier = described(demonstration.carrier[0], "EUR")
        assert carrier["price"].endswith(" EUR")
        assert carrier["centre_of_gravity"].count("mm") == 3

    def test_has_a_digest_of_its_contents_alone(
        self, demonstration: Catalogue, folder: Path
    ) -> None:
        assert read_catalogue(folder).digest == demonstration.digest
        path = folder / STANDARD
        path.write_text(path.read_text(encoding="utf-8").replace('"640.00"', '"641.00"'))
        assert read_catalogue(folder).digest != demonstration.digest


class TestFolders:
    def test_missing(self, tmp_path: Path) -> None:
        message = refusal(tmp_path / "none")
        assert message == "catalog: there is no such catalogue folder; check the name"

    def test_file(self, folder: Path) -> None:
        with pytest.raises(InputError, match="is a file; name the folder"):
            read_catalogue(folder / STANDARD)

    def test_empty(self, tmp_path: Path) -> None:
        assert refusal(tmp_path) == "catalog: holds no TOML file; a catalogue is a folder of them"

    def test_broken_file(self, folder: Path) -> None:
        message = changed(folder, STANDARD, 'id = "std-68"', "id = ")
        assert message.startswith(f"{STANDARD}: is not valid TOML")
        assert "line 4" in message

    def test_not_utf8(self, folder: Path) -> None:
        (folder / "more.toml").write_bytes(b'title = "\xe9"')
        assert refusal(folder) == "more.toml: is not UTF-8 text; save it as UTF-8"

    def test_missing_table(self, folder: Path) -> None:
        (folder / "rollers.toml").unlink()
        assert refusal(folder) == "catalog: roller is missing; write a table [[roller]] with" + (
            " id, description, diameter, dynamic_rating, static_rating, working_load,"
            " radial_stiffness, contact_angle, flank_angle"
        )

    def test_missing_rules(self, folder: Path) -> None:
        assert changed(folder, "catalogue.toml", "[rules]", "[rule]") == (
            "catalogue.toml: rule is not known here; the nearest known key is rules"
        )

    def test_second_header(self, folder: Path) -> None:
        (folder / "more.toml").write_text('[catalogue]\nid = "more"\n')
        assert refusal(folder) == (
            "more.toml: has a second [catalogue]; keep one in the whole catalogue"
        )

    def test_table_instead_of_entries(self, folder: Path) -> None:
        assert changed(folder, "families.toml", "[[family]]", "[feed]").startswith(
            "families.toml: feed must be a list of tables; write [[feed]] above each entry"
        )

    def test_entries_that_are_no_tables(self, folder: Path) -> None:
        (folder / "more.toml").write_text("feed = [3]\n")
        assert refusal(folder) == "more.toml: [[feed]] number 1: must be a table"


@pytest.mark.parametrize(
    ("name", "old", "new", "said"),
    [
        (
            STANDARD,
            '"640.00"',
            "640.0",
            '[[carrier]] std-68: price is not a price; write it as text, such as "1240.00"'
            " (read: 640.0)",
        ),
        (
            STANDARD,
            '"640.00"',
            '"640.005"',
            "[[carrier]] std-68: price is not a price of whole cents, zero or more; write one"
            ' such as "1240.00" (read: "640.005")',
        ),
        (STANDARD, '"640.00"', '"-1.00"', "[[carrier]] std-68: price is not a price of whole"),
        (STANDARD, '"640.00"', '"NaN"', "[[carrier]] std-68: price is not a price of whole"),
        (STANDARD, '"640.00"', '"1e400"', "[[carrier]] std-68: price is not a price of whole"),
        (
            STANDARD,
            'mass = "0.86 kg"',
            "mass = 0.86",
            "[[carrier]] std-68: mass has no unit; write a mass as text with a unit",
        ),
        (
            STANDARD,
            'mass = "0.86 kg"',
            'mass = "0 kg"',
            '[[carrier]] std-68: mass must be greater than 0 (read: "0 kg")',
        ),
        (
            STANDARD,
            'mass = "0.86 kg"',
            'maas = "0.86 kg"',
            '[[carrier]] std-68: mass is missing; write one such as "30 kg"',
        ),
        (
            STANDARD,
            'gauge = "76 mm"',
            'gauge = "76 N"',
            "[[carrier]] std-68: gauge is not a length; write a length as text with a unit",
        ),
        (
            STANDARD,
            "rolling_coefficient = 0.006",
            "rolling_coefficient = 0.6",
            "[[carrier]] std-68: rolling_coefficient must be less than 0.2 (read: 0.6)",
        ),
        (
            STANDARD,
            "magnets = 1",
            "magnets = 0",
            "[[carrier]] std-68: magnets must be at least 1 (read: 0)",
        ),
        (
            STANDARD,
            'knee_speed = "2.3 m/s"',
            'knee_speed = "5 m/s"',
            "[[carrier]] std-68: knee_speed must lie below no_load_speed",
        ),
        (
            STANDARD,
            'continuous_force = "47 N"',
            'continuous_force = "470 N"',
            "[[carrier]] std-68: continuous_force must not exceed peak_force",
        ),
        (
            STANDARD,
            'top_speed = "3.6 m/s"',
            'top_speed = "36 m/s"',
            "[[carrier]] std-68: top_speed must not exceed no_load_speed",
        ),
        (
            STANDARD,
            'id = "std-68"',
            'id = "Std 68"',
            "[[carrier]] Std 68: id must be small letters, digits and single hyphens, such as"
            ' "arc-280" (read: "Std 68")',
        ),
        (
            STANDARD,
            'id = "std-68"',
            "id = 68",
            "[[carrier]] number 1: id must be text (read: 68)",
        ),
        (
            STANDARD,
            'id = "std-68"',
            'id = "std-92"',
            "[[carrier]] std-92: id 'std-92' stands in [[carrier]] already; choose another",
        ),
        (
            STANDARD,
            'id = "std-68"',
            'id = "arc-280"',
            "[[bend]] arc-280: id 'arc-280' stands in [[carrier]] already; choose another",
        ),
        (
            STANDARD,
            'family = "standard"',
            'family = "standart"',
            "[[carrier]] std-68: family 'standart' is in no table; known are bottom-supported,"
            " coupled-pair, large-magnet, standard",
        ),
        (
            STANDARD,
            'roller = "v-22"',
            'roller = "v-23"',
            "[[carrier]] std-68: roller 'v-23' is in no table; known are ",
        ),
        (
            BELOW,
            'lower_roller = "f-26"',
            'lower_roller = "f-99"',
            "[[carrier]] bs-132: lower_roller 'f-99' is in no table; known are ",
        ),
        (
            BELOW,
            'guide_depth = "150 mm"',
            "",
            "[[carrier]] bs-132: guide_depth and lower_roller go together",
        ),
        (
            BELOW,
            'guide_depth = "150 mm"\nlower_roller = "f-26"\n',
            "",
            "[[carrier]] bs-132: guide_depth is missing; family 'bottom-supported' has a lower",
        ),
        (
            STANDARD,
            'rated_payload = "4 kg"',
            'rated_payload = "4 kg"\nguide_depth = "150 mm"\nlower_roller = "f-26"',
            "[[carrier]] std-68: guide_depth is given, but family 'standard' has not a lower",
        ),
        (
            PAIR,
            'coupling_distance = "230 mm"\n',
            "",
            "[[carrier]] pair-230: coupling_distance is missing; family 'coupled-pair' has 2",
        ),
        (
            PAIR,
            'coupling_distance = "230 mm"\n',
            'coupling_distance = "900 mm"\n',
            "[[carrier]] pair-230: plate_length must hold coupling_distance and one magnet_length",
        ),
        (
            "families.toml",
            "trucks = 1",
            "trucks = 3",
            "[[family]] standard: trucks must be 1 or 2 (read: 3)",
        ),
        (
            "rollers.toml",
            "contact_angle = 30",
            "contact_angle = 33",
            "[[roller]] v-22: contact_angle must be a contact angle that ISO 281 tabulates:"
            " 25, 30, 35, 40 or 45 (read: 33)",
        ),
        (
            "rollers.toml",
            'flank_angle = "45 deg"',
            'flank_angle = "95 deg"',
            '[[roller]] v-22: flank_angle must be less than 1.5708 rad (read: "95 deg")',
        ),
        (
            "guide.toml",
            'along = "s-400"',
            'along = "s-500"',
            "[[lower_rail]] rail-s-400: along 's-500' is in no table; known are arc-280,",
        ),
        (
            "guide.toml",
            'along = "s-400"',
            'along = "s-1000"',
            "[[lower_rail]] rail-s-1000: along is 's-1000' like that of 'rail-s-400'; keep one",
        ),
        (
            "guide.toml",
            'radius = "280 mm"',
            'radius = "2 mm"',
            '[[bend]] arc-280: radius must be at least 0.05 m (read: "2 mm")',
        ),
        (
            "electrical.toml",
            "max_sections = 8",
            "max_sections = 8.5",
            "[[supply]] dc-500: max_sections must be a whole number (read: 8.5)",
        ),
        (
            "catalogue.toml",
            "drive_margin = 1.25",
            "drive_margin = 0.5",
            "[rules]: drive_margin must be at least 1 (read: 0.5)",
        ),
        (
            "catalogue.toml",
            "recovered = 0.0",
            "recovered = nan",
            "[rules]: recovered must be a finite number (read: nan)",
        ),
        (
            "catalogue.toml",
            'currency = "EUR"',
            'currency = "€"',
            '[catalogue]: currency must be three capital letters, such as "EUR" (read: "€")',
        ),
        (
            "catalogue.toml",
            'longest_loop = "24 m"',
            "longest_loop = 24",
            "[rules]: longest_loop has no unit; write a length as text with a unit, such as"
            ' "200 mm" (read: 24)',
        ),
    ],
)
def test_a_fault_names_file_entry_and_key(
    folder: Path, name: str, old: str, new: str, said: str
) -> None:
    first = changed(folder, name, old, new).splitlines()[0]
    file = "guide.toml" if said.startswith("[[bend]]") else name
    assert first.startswith(f"{file}: {said}")


def test_a_family_with_a_lower_guide_needs_rails_everywhere(folder: Path) -> None:
    path = folder / "guide.toml"
    head, sep, tail = path.read_text(encoding="utf-8").partition(
        '[[lower_rail]]\nid = "rail-s-400"'
    )
    path.write_text(head + "[[lower_rail]]" + tail.partition("[[lower_rail]]")[2], encoding="utf-8")
    assert sep
    assert refusal(folder) == (
        "guide.toml: [[straight]] s-400: has no [[lower_rail]] along it, but family"
        " 'bottom-supported' has a lower guide; add one with along = \"s-400\""
    )


def test_an_id_in_two_files_is_charged_to_the_later_one(folder: Path) -> None:
    text = (folder / STANDARD).read_text(encoding="utf-8")
    (folder / "zz-more.toml").write_text(text, encoding="utf-8")
    assert refusal(folder).startswith(
        "zz-more.toml: [[carrier]] std-68: id 'std-68' stands in [[carrier]] already"
    )


def test_the_order_of_files_does_not_matter_for_the_entries(folder: Path) -> None:
    (folder / "guide.toml").rename(folder / "aa-guide.toml")
    assert read_catalogue(folder).bends.keys() == read_catalogue(shipped("catalog")).bends.keys()


def test_a_reach_that_is_rated_is_refused_with_what_took_its_place(folder: Path) -> None:
    said = changed(
        folder,
        STANDARD,
        'rated_roll_moment = "24 N*m"',
        'rated_reach = "140 mm"\nrated_roll_moment = "24 N*m"',
    )
    assert said.startswith(f"{STANDARD}: [[carrier]] std-68: rated_reach is not read any more")
    assert "give rated_roll_moment, rated_pitch_moment and rated_yaw_moment" in said
