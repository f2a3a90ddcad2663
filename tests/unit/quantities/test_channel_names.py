"""Names of columns: what they are taken for in many languages, and what is left alone."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullbook.quantities.channel_names import CORRECTED_WORDS, NAMES, NEUTRAL_WORDS, SHORT_NAMES, UNCORRECTED_WORDS
from pullbook.quantities.channels import CHANNELS, Channel
from pullbook.quantities.name_matching import Treatment, match_name

# From memory of the languages' engineering words; none is read off the catalogue.
IN_LANGUAGES = {
    Channel.SPEED: ("Engine Speed", "RPM", "Motordrehzahl", "Drehzahl", "Régime moteur", "Régimen motor", "Giri motore",
                    "Rotação do motor", "Toerental", "Varvtal", "Omdrejningstal", "Obroty silnika", "Otáčky motoru",
                    "Kierrosluku", "Fordulatszám", "Motor devri"),
    Channel.TORQUE: ("Torque", "Drehmoment", "Couple", "Par motor", "Coppia", "Binário", "Koppel", "Vridmoment",
                     "Moment obrotowy", "Točivý moment", "Krouticí moment", "Vääntömomentti",
                     "Forgatónyomaték", "Tork"),
    Channel.POWER: ("Power", "Leistung", "Puissance", "Potencia", "Potenza", "Potência", "Vermogen", "Effekt", "Moc",
                    "Výkon", "Teho", "Teljesítmény", "Güç"),
    Channel.TIME: ("Time", "Zeit", "Temps", "Tiempo", "Tempo", "Tijd", "Tid", "Czas", "Čas", "Aika", "Idő", "Zaman"),
    Channel.THROTTLE: ("Throttle Position", "TPS", "Drosselklappe", "Papillon", "Mariposa", "Farfalla", "Borboleta",
                       "Gasklep", "Przepustnica", "Škrticí klapka"),
    Channel.AIR_TEMPERATURE: ("Air Temp", "IAT", "Ansauglufttemperatur", "Température d'air", "Temperatura del aire",
                              "Temperatura aria", "Temperatura do ar", "Luchttemperatuur", "Insugstemperatur",
                              "Temperatura powietrza", "Teplota vzduchu"),
    Channel.AIR_PRESSURE: ("Barometer", "Luftdruck", "Pression atmosphérique", "Presión atmosférica",
                           "Pressione atmosferica", "Pressão atmosférica", "Luchtdruk", "Lufttryck",
                           "Ciśnienie atmosferyczne", "Atmosférický tlak"),
    Channel.AIR_HUMIDITY: ("Humidity", "RH", "Luftfeuchte", "Humidité", "Humedad relativa", "Umidità", "Umidade",
                           "Luchtvochtigheid", "Luftfuktighet", "Wilgotność", "Vlhkost"),
    Channel.OIL_TEMPERATURE: ("Oil Temp", "Öltemperatur", "Oeltemperatur", "Température huile", "Temperatura de aceite",
                              "Temperatura olio", "Olietemperatuur", "Oljetemperatur", "Temperatura oleju",
                              "Teplota oleje"),
    Channel.COOLANT_TEMPERATURE: ("Coolant Temp", "Water Temp", "CLT", "Kühlwassertemperatur", "Température eau",
                                  "Temperatura agua", "Temperatura acqua", "Koelwatertemperatuur", "Vattentemperatur"),
    Channel.MIXTURE: ("Lambda", "AFR", "Air/Fuel Ratio", "λ", "Luftzahl"),
    Channel.SPARK: ("Ignition Angle", "Spark Advance", "Zündwinkel", "Avance à l'allumage", "Avance de encendido",
                    "Anticipo accensione"),
    Channel.TRACTIVE_FORCE: ("Tractive Effort", "Zugkraft", "Effort de traction", "Forza di trazione"),
    Channel.VEHICLE_SPEED: ("Vehicle Speed", "Fahrgeschwindigkeit", "Vitesse véhicule", "Velocità veicolo"),
}  # fmt: skip
CASES = [(name, channel) for channel, names in IN_LANGUAGES.items() for name in names]


@pytest.mark.parametrize(("name", "channel"), CASES)
def test_a_name_is_understood_in_its_language(name: str, channel: Channel) -> None:
    match = match_name(name)
    assert match is not None
    assert channel in match.channels


@pytest.mark.parametrize(("name", "channel"), CASES)
def test_case_underscores_and_accents_do_not_matter(name: str, channel: Channel) -> None:
    for variant in (name.upper(), name.replace(" ", "_"), f"  {name} ", f"Measured {name}", f"{name} (avg)"):
        match = match_name(variant)
        assert match is not None, variant
        assert channel in match.channels, variant


@pytest.mark.parametrize(
    "name",
    [
        # Columns of real engine logs that stand beside a measurement and are none of it.
        "Target Lambda", "TPS Rate", "Air Temp Compensation - Fuel", "Coolant Temp Compensation - Ignition",
        "Barometer Compensation - Fuel", "Map Compensation - Fuel", "System Temperature", "Lambda/AFR Status",
        "Crank Error Count", "Fuel Duty Cycle", "Fuel Open Time", "Battery Volt", "Phase_#", "Gear", "Torque Limit",
        "Max Power", "Requested Torque", "RPM Limit", "Oil Temp Alarm", "", "   ", "###", "T_head", "T_cool in", "x",
        "Torque Nm/10", "Torque x10", "Soll-Drehzahl",
    ],
)  # fmt: skip
def test_a_name_with_another_word_in_it_is_left_alone(name: str) -> None:
    assert match_name(name) is None


@pytest.mark.parametrize(
    ("name", "channel", "unit"),
    [
        ("torque_Nm", Channel.TORQUE, "N m"), ("speed_rad_s", Channel.SPEED, "rad/s"), ("HP", Channel.POWER, "hp"),
        ("Power kW", Channel.POWER, "kW"), ("Leistung PS", Channel.POWER, "PS"), ("RPM x1000", Channel.SPEED, "krpm"),
        ("rpm*1000", Channel.SPEED, "krpm"), ("Drehzahl 1/min", Channel.SPEED, "rpm"), ("Nm", Channel.TORQUE, "N m"),
        ("Torque (lb-ft)", Channel.TORQUE, "lb ft"), ("ft-lbs", Channel.TORQUE, "lb ft"), ("RWHP", Channel.POWER, "hp"),
        ("MAP kPa", Channel.MANIFOLD_PRESSURE, "kPa"), ("Lambda 1", Channel.MIXTURE, "lambda"),
        ("AFR", Channel.MIXTURE, "AFR"),
        ("Speed mph", Channel.VEHICLE_SPEED, "mph"), ("Load volts", Channel.LOAD_SIGNAL, "V"),
        ("CV", Channel.POWER, "PS"),
    ],
)  # fmt: skip
def test_a_unit_inside_the_name_is_found(name: str, channel: Channel, unit: str) -> None:
    match = match_name(name)
    assert match is not None
    assert match.channels[0] is channel
    assert match.unit == unit


@pytest.mark.parametrize(
    ("name", "treatment"),
    [
        ("Torque Corr", Treatment.CORRECTED), ("Corrected Torque", Treatment.CORRECTED),
        ("SAE Power", Treatment.CORRECTED),
        ("Torque Uncorr", Treatment.UNCORRECTED), ("Raw Torque", Treatment.UNCORRECTED), ("Torque", Treatment.UNSAID),
        ("Leistung korrigiert", Treatment.CORRECTED), ("Torque (not corrected)", Treatment.UNCORRECTED),
        ("Couple corrigé", Treatment.CORRECTED), ("CHP", Treatment.CORRECTED), ("Par corregido", Treatment.CORRECTED),
    ],
)  # fmt: skip
def test_what_a_name_says_about_correction_is_kept(name: str, treatment: Treatment) -> None:
    match = match_name(name)
    assert match is not None
    assert match.treatment is treatment


def test_a_letter_counts_only_with_a_unit() -> None:
    match = match_name("n")
    assert match is not None
    assert match.needs_unit


@pytest.mark.parametrize(("name", "number"), [("EGT #3", "3"), ("EGT3", "3"), ("EGT 12", "12"), ("EGT", "")])
def test_siblings_are_told_apart_by_their_number(name: str, number: str) -> None:
    match = match_name(name)
    assert match is not None
    assert (match.channels, match.number) == ((Channel.EXHAUST_TEMPERATURE,), number)


def test_every_name_of_the_catalogue_leads_back_to_its_channel() -> None:
    lost = {
        name: channel
        for channel, names in NAMES.items()
        for name in names
        if (match := match_name(name)) is None or channel not in match.channels
    }
    assert lost == {}


def test_a_name_stands_for_two_channels_only_where_the_unit_tells_them_apart() -> None:
    for names in NAMES.values():
        for name in names:
            match = match_name(name)
            assert match is not None
            dimensions = [CHANNELS[channel].dimension for channel in match.channels]
            assert len(set(dimensions)) == len(dimensions), name


def test_every_channel_of_a_bench_has_names() -> None:
    assert set(NAMES) == set(Channel)


def test_words_about_correction_are_not_neutral() -> None:
    assert not (CORRECTED_WORDS | UNCORRECTED_WORDS) & NEUTRAL_WORDS
    assert not CORRECTED_WORDS & UNCORRECTED_WORDS


def test_short_names_are_short() -> None:
    fluids = {"coolant", "water", "wasser", "oil", "oel", "exhaust"}
    assert all(len(name) <= 2 or name in {"omega", *fluids} for name in SHORT_NAMES)


@given(name=st.text(max_size=40))
def test_any_text_is_a_name_or_none_but_never_a_crash(name: str) -> None:
    match = match_name(name)
    assert match is None or match.channels
