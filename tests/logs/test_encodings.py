"""Text that is no UTF-8 is read in the encoding of the language that its names are in."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tuneledger.logs.delimited.encodings import alphabets, told_encoding

NAMES = {
    "cp1250": ["Obroty wału;Prędkość;Zapłon", "Otáčky;Předstih;Poloha klapky",
               "Hűtőfolyadék hőmérséklet;Előgyújtás", "Ožujak;Opterećenje;Tlak ulja;Željena"],
    "cp1251": ["Обороты двигателя;Угол опережения зажигания", "Оберти;Тиск;Кут випередження"],
    "cp1252": ["Zündwinkel [°KW];Öltemperatur;Füllung", "Régime;Pression d'air;Température arrière",
               "Rotação;Avanço de ignição", "Tändning;Kylvätska", "Tænding;Kølevæske"],
    "cp1253": ["Στροφές κινητήρα;Πραγματικό αβάνς"],
    "cp1254": ["Motor devri;Ateşleme avansı;Yağ basıncı;Araç hızı"],
    "cp1255": ["טמפרטורת שמן;קידום הצתה;מהירות רכב"],
    "cp1256": ["سرعة المحرك;تقديم الشرارة;درجة حرارة الزيت"],
    "cp1257": ["Variklio sūkiai;Uždegimo kampas;Droselio padėtis;Aušinimo skystis"],
    "cp874": ["รอบเครื่องยนต์;องศาจุดระเบิด;ความเร็วรถ"],
    "cp932": ["エンジン回転数;点火時期;冷却水温"],
    "cp949": ["엔진 회전수;점화시기;냉각수 온도"],
    "gb18030": ["发动机转速;点火提前角;冷却液温度"],
    "cp950": ["引擎轉速;點火角度;冷卻水溫度"],
}  # fmt: skip


@pytest.mark.parametrize(
    ("encoding", "header"), [(code, text) for code, texts in NAMES.items() for text in texts]
)
def test_names_come_out_as_they_were_written(encoding: str, header: str) -> None:
    data = f"{header} [°C]\n1;2;3\n".encode(encoding, "ignore")
    assert header in data.decode(told_encoding(data))


@pytest.mark.parametrize("header", ["n [rpm];ZW [°]", "T [°C];x²", "µ;°;°", "Adv °;±5"])
def test_signs_of_units_alone_tell_no_language(header: str) -> None:
    assert told_encoding(f"{header}\n1;2\n".encode("cp1252")) == "cp1252"


@given(st.binary(min_size=1, max_size=300))
def test_any_bytes_get_an_encoding_that_python_knows(data: bytes) -> None:
    data.decode(told_encoding(data), errors="replace")


def test_every_alphabet_can_be_written_in_its_encodings() -> None:
    for alphabet in alphabets():
        for encoding in alphabet.encodings:
            written = "".join(sorted(alphabet.letters)).encode(encoding, "ignore").decode(encoding)
            assert len(written) >= 0.95 * len(alphabet.letters)
