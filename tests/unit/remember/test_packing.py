"""Files are packed small and come back byte for byte, also those that an earlier pullbook packed."""

from __future__ import annotations

import base64
import random
from typing import Final

import pytest

from pullbook.remember.columns import numbers_in, to_columns
from pullbook.remember.packing import columns_in, pack, unpack

EARLIER_TABLE: Final = (
    "0|np#dH|~c06~B-zB*m{r6_HBUm_yNnRodiU&vs>=z4VD9^%K(-C880EI)hH&*3=c!ZV%7gqre>7O1<Q_t;<^LpnS;Onk}}$hU)0"
    "v0h~Of0<(paXshWA@eLGstzge1ftv6$kLN`imrd;@u`rTPEv)lzzofPCA0Nd>U2Vj&#8@ookr?Q&U(6OA8!t<xaNZ_k)(yK&NV&k"
    "%1t8V{n8)jI#VVSv-(KCUg?H$00"
)
EARLIER_LISTS: Final = (
    "1OngycmQSu01f~$X<=3hr8&@)dxgeufrE}J9woIeFT;T*1GUsgd#l2xlYkGM84Z#EZ^(L>1Smu|Bq4k6y<xFG0ePI;?ft~ry+?@g"
    "@Qfs6L=dUO3T71-K+?v&%Bq%{3TeM4hAjQaK%@Ww"
)
"""What `pack` of the first pullbook with an archive (tables of version 0003) made of the two texts below."""
LISTS: Final = (
    b'{"grid":[2000.0,2050.0,2100.5,null,2200.0,2250.0,2300.0,2350.0],"title":"two headers",'
    b'"sd":[0.5,0.25,0.125,-0.75,1.0,2.0,3.0,4.0]}'
)


def table() -> bytes:
    """Decimal commas without last zeros, padded numbers, words, and lines that end as on Windows."""
    rows = (
        (str(2000 + 15 * k), f"{180 - k * k / 4:.2f}".rstrip("0").rstrip(".").replace(".", ","), f"{-3 + k / 2:5.1f}",
         "open" if k % 3 else "shut")
        for k in range(18)
    )  # fmt: skip
    return ("# bench 3\r\nrpm;Nm;valve;note\r\n" + "".join(";".join(row) + "\r\n" for row in rows)).encode()


@pytest.mark.parametrize(("packed", "text"), [(EARLIER_TABLE, table()), (EARLIER_LISTS, LISTS)])
def test_what_an_earlier_pullbook_packed_comes_back_and_is_packed_no_larger_today(packed: str, text: bytes) -> None:
    earlier = base64.b85decode(packed)
    assert unpack(earlier) == text
    assert unpack(pack(text)) == text
    assert len(pack(text)) <= len(earlier)


def cell(rng: random.Random, kind: int) -> str:
    """A cell as benches write them, or nearly so."""
    value = rng.gauss(0.0, 10.0 ** rng.randint(0, 4))
    return (
        f"{value:.2f}", f"{round(value, 2):g}", f"{value:8.1f}", str(int(value)), f"{value:.3f}".replace(".", ","),
        rng.choice(["open", "closed", "1.5", "", "-", "1-2", "+3", "1.2.3", "4."]), f"{value:.0f}", f"{value:.9f}",
        f"-0.{rng.randint(0, 99):02d}", str(rng.randint(0, 10**16)), f"{rng.randint(0, 9):03d}", f" {value:.1f} ",
    )[kind]  # fmt: skip


@pytest.mark.parametrize("seed", range(60))
def test_a_table_of_any_cells_comes_back_byte_for_byte(seed: int) -> None:
    rng = random.Random(seed)  # noqa: S311 - a test
    kinds = [rng.randrange(12) for _ in range(rng.randint(1, 7))]
    separator, end = rng.choice([",", ";", "\t", " "]), rng.choice(["\n", "\r\n"])
    rows = [separator.join(cell(rng, kind) for kind in kinds) for _ in range(rng.randint(5, 60))]
    text = (rng.choice(["", "# head\n", f"a{separator}b{end}"]) + end.join(rows) + rng.choice(["", end])).encode()
    assert unpack(pack(text)) == text


def test_a_decimal_comma_does_not_part_cells() -> None:
    found = columns_in(pack(table()))
    assert found is not None
    assert (found.separator, found.first_line, found.rows) == (";", 3, 18)
    assert found.columns[1][:3].tolist() == [180.0, 179.75, 179.0]  # 180 - k * k / 4
    assert found.columns[2][:3].tolist() == [-3.0, -2.5, -2.0]
    assert 3 not in found.columns  # words


def test_numbers_are_those_of_the_text() -> None:
    text = b"a,b\n" + b"".join(b"%d,-0.%03d\n" % (k, 7 * k) for k in range(1, 40))
    packed = to_columns(text)
    assert packed is not None
    assert numbers_in(packed).columns[1].tolist() == [-float(f"0.{7 * k:03d}") for k in range(1, 40)]


def test_a_list_of_numbers_with_gaps_comes_back() -> None:
    for text in (b"[null,null,1.5,2.5,null,3.5,4.5,5.5,6.5,null]", b"[1.0,2,3.0,4.0,5.0,6.0,7.0,8.0,9.0]",
                 b"[null,null,null,null,null,null,null,null]", b"[-0.0,0.0,1.0,2.0,3.0,4.0,5.0,6.0]",
                 b"[true,1.0,2.0,3.0,4.0,5.0,6.0,7.0]"):  # fmt: skip
        assert unpack(pack(text)) == text
