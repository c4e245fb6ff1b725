"""Register maps as people write them, and what is said about those that can't be used."""

from pathlib import Path

import pytest

import drivers.maps
from drivers.maps.sheet import RegisterMap
from recordings.errors import SheetError

EXAMPLE = Path(drivers.maps.__file__).parent / "example.toml"
READ = '[[read]]\nchannel = "load_power"\naddress = 1\n'


def test_the_example_can_be_used():
    example = RegisterMap.load(EXAMPLE)
    assert example.device.max_registers == 60
    assert {entry.channel for entry in example.read} >= {"generator_power", "battery_soc", "charger_enabled"}
    assert example.text[0].name == "serial number"


def test_the_example_shows_every_key():
    example = RegisterMap.load(EXAMPLE)
    used = {key for entry in example.read for key in entry.model_fields_set}
    every = set(type(example.read[0]).model_fields) - {"offset", "word_order"}
    assert used == every


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "read is missing"),
        ("[[read]]\naddress = 1\n", "add channel"),
        (READ.replace("load_power", "lod_power"), "nearest known is load_power"),
        (READ + "adress = 2\n", "nearest known is address"),
        (READ.replace("= 1", "= 65536"), "65535"),
        (READ.replace("= 1", "= -1"), "0"),
        (READ + 'type = "u24"\n', "u16"),
        (READ + 'table = "coils"\n', "holding"),
        (READ + "scael = 1\n", "nearest known is scale"),
        (READ.replace("= 1", "= 65535") + 'type = "u32"\n', "65536"),
        (READ + 'unit = "V"\n', "W, "),
        (READ + 'unit = "furlong"\n', "load_power can be read from"),
        (READ + "bit = 3\n", 'type = "bit"'),
        (READ + 'type = "bit"\n', "bit from 0 to 15"),
        (READ + "scale = 0\n", "other than 0"),
        (READ + "sign = 2\n", "1 or -1"),
        (READ + 'scale = "0.1"\n', "without quotes"),
        ("[device]\nmax_registers = 126\n" + READ, "125"),
        ("[device]\nword_order = 'middle'\n" + READ, "big"),
        ('[clock]\naddress = 1\nepoch = "2000-13-01"\n' + READ, "2000-01-01"),
        (READ.replace("load_power", "battery_soc") * 2, "only powers and currents"),
        ("[line]\n" + READ, "unknown key line"),
        ("not toml", "TOML"),
    ],
)
def test_what_cannot_be_used_is_told_in_one_line(text, says):
    with pytest.raises(SheetError) as refused:
        RegisterMap.parse(text, "plant.toml")
    line = str(refused.value)
    assert says.lower() in line.lower()
    assert line.startswith("plant.toml: ")
    assert "\n" not in line
