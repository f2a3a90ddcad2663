"""Names that benches, loggers and testers give their columns, in several languages.

The key is the channel. A name is compared without case, accents, punctuation and the order of its words, and
without words that say nothing about what is measured (`NEUTRAL_WORDS`); what is left has to be in the list. A
name with any other word is not taken: "Target Lambda" or "TPS Rate" is no measurement of the channel.

Languages, in the order of each group: English, German, French, Spanish, Italian, Portuguese, Dutch, Swedish,
Danish/Norwegian, Polish, Czech, Finnish, Hungarian, Turkish.
"""

from __future__ import annotations

from typing import Final

from pullbook.quantities.channels import Channel

__all__ = ["ARTICLES", "CORRECTED_WORDS", "NAMES", "NEUTRAL_WORDS", "SHORT_NAMES", "UNCORRECTED_WORDS"]

_C = Channel
NAMES: Final[dict[Channel, tuple[str, ...]]] = {
    _C.TIME: (
        "time", "elapsed time", "run time", "log time", "timestamp", "time stamp", "timestamps", "Zeit", "Messzeit",
        "Laufzeit", "Zeitstempel", "temps", "tiempo", "tempo", "tijd", "tid", "czas", "cas", "aika", "ido", "zaman",
    ),
    _C.SPEED: (
        "rpm", "speed", "engine speed", "engine rpm", "motor speed", "motor rpm", "eng speed", "eng spd", "eng rpm",
        "crank speed", "crankshaft speed", "shaft speed", "revs", "rev", "engine revs", "rpms", "Drehzahl",
        "Motordrehzahl", "Kurbelwellendrehzahl", "n mot", "nmot", "regime", "regime moteur", "vitesse moteur",
        "vitesse de rotation", "tours minute", "regimen", "regimen motor", "revoluciones", "velocidad del motor",
        "velocidad de giro", "regime motore", "giri", "giri motore", "numero di giri", "velocita motore", "rotacao",
        "rotacao do motor", "rotacoes", "regime do motor", "toerental", "motortoerental", "varvtal", "motorvarvtal",
        "omdrejningstal", "turtall", "omdreininger", "obroty", "obroty silnika", "predkosc obrotowa", "otacky",
        "otacky motoru", "kierrosluku", "moottorin kierrosluku", "pyorimisnopeus", "fordulatszam",
        "motor fordulatszam", "devir", "devri", "motor devri", "rotational speed", "angular speed", "angular velocity",
    ),
    _C.TORQUE: (
        "torque", "tq", "trq", "tqe", "engine torque", "brake torque", "shaft torque", "crank torque",
        "flywheel torque", "wheel torque", "Drehmoment", "Motordrehmoment", "Moment", "Motormoment", "Raddrehmoment",
        "couple", "couple moteur", "par", "par motor", "torsion", "momento de torsion", "coppia", "coppia motrice",
        "binario", "torque do motor", "koppel", "motorkoppel", "draaimoment", "vridmoment", "drejningsmoment",
        "moment obrotowy", "moment silnika", "tocivy moment", "krouticí moment", "vaanto", "vaantomomentti",
        "nyomatek", "forgatonyomatek", "tork", "moment motoru",
    ),
    _C.POWER: (
        "power", "pwr", "engine power", "brake power", "shaft power", "wheel power", "flywheel power", "horsepower",
        "horse power", "engine hp", "brake hp", "wheel hp", "flywheel hp",
        "Leistung", "Motorleistung", "Radleistung", "Effektivleistung", "puissance",
        "puissance moteur", "potencia", "potencia del motor", "potenza", "potenza motore", "potencia do motor",
        "vermogen", "motorvermogen", "effekt", "motoreffekt", "ydelse", "moc", "moc silnika", "vykon",
        "vykon motoru", "teho", "teljesitmeny", "guc", "motor gucu",
    ),
    _C.LOAD_SIGNAL: (
        "load", "load cell", "loadcell", "brake load", "dyno load", "load signal", "load cell signal", "force",
        "brake force", "torque signal", "torque volts", "torque sensor", "torque cell", "Kraftmessdose", "Last",
        "Bremskraft", "Kraftaufnehmer", "Wiegezelle", "cellule de force", "capteur de force", "celda de carga",
        "cella di carico", "celula de carga", "lastcel", "lastcell", "vejecelle", "czujnik sily", "silomer",
    ),
    _C.THROTTLE: (
        "throttle", "tps", "throttle position", "throttle pos", "throttle angle", "throttle opening", "thr pos",
        "absolute throttle position", "Drosselklappe", "Drosselklappenstellung", "Drosselklappenposition", "papillon",
        "position papillon", "ouverture papillon", "mariposa", "posicion de la mariposa", "farfalla",
        "apertura farfalla", "posizione farfalla", "borboleta", "posicao da borboleta", "gasklep", "gasklepstand",
        "gasspjall", "spjallvinkel", "gasspjaeld", "przepustnica", "polozenie przepustnicy", "skrtici klapka",
        "poloha skrtici klapky", "kaasulappa", "fojtoszelep", "gaz kelebegi",
    ),
    _C.MANIFOLD_PRESSURE: (
        "map", "manifold pressure", "manifold air pressure", "manifold absolute pressure", "intake manifold pressure",
        "intake manifold absolute pressure", "inlet manifold pressure", "manifold press", "man press", "p man",
        "Saugrohrdruck", "Ladedruck absolut", "pression admission", "pression collecteur admission",
        "presion de admision", "presion colector", "pressione collettore", "pressao do coletor", "inlaatdruk",
        "spruitstukdruk", "insugstryck", "cisnienie w kolektorze", "tlak v saní",
    ),
    _C.AIR_PRESSURE: (
        "barometer", "baro", "barometric pressure", "baro pressure", "baro press", "ambient pressure",
        "atmospheric pressure", "air pressure", "cell pressure", "p atm", "patm", "p amb", "pamb", "p baro",
        "Luftdruck", "Umgebungsdruck", "Barometerdruck", "pression atmospherique", "pression ambiante",
        "pression barometrique", "presion atmosferica", "presion barometrica", "presion ambiente",
        "pressione atmosferica", "pressione ambiente", "pressao atmosferica", "luchtdruk", "omgevingsdruk",
        "lufttryck", "lufttrykk", "lufttryk", "cisnienie atmosferyczne", "atmosfericky tlak", "ilmanpaine",
        "legnyomas", "hava basinci",
    ),
    _C.AIR_TEMPERATURE: (
        "air temperature", "air temp", "iat", "act", "mat", "intake air temp", "inlet air temp", "intake temp",
        "inlet temp", "intake air temperature", "inlet air temperature", "intake temperature", "inlet temperature",
        "ambient temp", "ambient temperature", "ambient air temp", "cell temp", "cell temperature", "room temp",
        "test cell temp", "t air", "tair", "t intake", "t amb", "tamb", "t inlet", "Lufttemperatur",
        "Ansauglufttemperatur", "Ansaugtemperatur", "Umgebungstemperatur", "Raumtemperatur", "temperature air",
        "temperature d'air", "temperature admission", "temperature ambiante", "temperatura del aire",
        "temperatura aire admision", "temperatura ambiente", "temperatura aria", "temperatura aspirazione",
        "temperatura do ar", "luchttemperatuur", "inlaatluchttemperatuur", "omgevingstemperatuur", "insugstemperatur",
        "omgivningstemperatur", "lufttemp", "temperatura powietrza", "temperatura otoczenia", "teplota vzduchu",
        "teplota okoli", "ilman lampotila", "levego homerseklet", "hava sicakligi",
    ),
    _C.AIR_HUMIDITY: (
        "humidity", "relative humidity", "rel humidity", "rh", "cell rh", "cell humidity", "Luftfeuchte",
        "Luftfeuchtigkeit", "relative Feuchte", "relative Luftfeuchte", "rel Feuchte", "humidite",
        "humidite relative", "humedad", "humedad relativa", "umidita", "umidita relativa", "umidade",
        "umidade relativa", "luchtvochtigheid", "luftfuktighet", "luftfugtighed", "wilgotnosc",
        "wilgotnosc wzgledna", "vlhkost", "relativni vlhkost", "ilmankosteus", "paratartalom", "nem",
    ),
    _C.VAPOUR_PRESSURE: (
        "vapour pressure", "vapor pressure", "water vapour pressure", "water vapor pressure", "Dampfdruck",
        "Wasserdampfdruck", "pression de vapeur", "presion de vapor", "pressione di vapore",
    ),
    _C.MIXTURE: (
        "lambda", "afr", "air fuel ratio", "air fuel", "a f", "a f ratio", "af ratio", "lam", "wideband", "wbo2",
        "wideband afr", "Luftverhaeltnis", "Luftverhältnis", "Luftzahl", "Lambdawert", "richesse air carburant",
        "rapport air carburant", "relacion aire combustible", "rapporto aria carburante",
    ),
    _C.SPARK: (
        "spark", "spark advance", "ignition", "ignition angle", "ignition timing", "ignition advance", "timing",
        "advance", "spark timing", "spark angle", "ign angle", "ign timing", "ign adv", "timing advance",
        "Zuendwinkel", "Zündwinkel", "Zuendzeitpunkt", "Zündzeitpunkt", "avance allumage", "avance a l'allumage",
        "avance de encendido", "avance encendido", "anticipo", "anticipo accensione", "avanco de ignicao",
        "ontsteking", "ontstekingstijdstip", "tandning", "tandvinkel", "tandforstallning", "kat zaplonu",
        "wyprzedzenie zaplonu", "predstih", "predstih zapalovani",
    ),
    _C.FUEL_FLOW: (
        "fuel flow", "fuel mass flow", "fuel rate", "fuel consumption", "mass fuel flow", "fuel",
        "Kraftstoffverbrauch", "Kraftstoffmassenstrom", "Kraftstoffdurchfluss", "debit carburant", "debit essence",
        "consommation", "caudal de combustible", "consumo de combustible", "portata carburante",
        "consumo carburante", "vazao de combustivel", "brandstofverbruik", "bransleflode", "zuzycie paliwa",
        "spotreba paliva",
    ),
    _C.AIR_FLOW: (
        "air flow", "airflow", "air mass flow", "mass air flow", "maf", "air mass", "Luftmasse", "Luftmassenstrom",
        "Ansaugluftmasse", "debit d'air", "caudal de aire", "portata aria", "vazao de ar", "luchtmassa", "luftflode",
        "luftmassa", "przeplyw powietrza", "prutok vzduchu",
    ),
    _C.OIL_TEMPERATURE: (
        "oil temperature", "oil temp", "eot", "t oil", "toil", "sump temp", "Oeltemperatur", "Öltemperatur", "Oeltemp",
        "Öltemp", "temperature huile", "temperature d'huile", "temperatura de aceite", "temperatura aceite",
        "temperatura olio", "temperatura do oleo", "olietemperatuur", "oljetemperatur", "olietemperatur",
        "temperatura oleju", "teplota oleje", "oljyn lampotila", "olaj homerseklet", "yag sicakligi",
    ),
    _C.COOLANT_TEMPERATURE: (
        "coolant temperature", "coolant temp", "water temp", "water temperature", "clt", "ect", "engine temp",
        "engine temperature", "t water", "t cool", "t coolant", "t cool out", "coolant out temp", "Wassertemperatur",
        "Kuehlmitteltemperatur", "Kühlmitteltemperatur", "Kuehlwassertemperatur", "Kühlwassertemperatur",
        "temperature eau", "temperature d'eau", "temperature liquide refroidissement", "temperatura de agua",
        "temperatura agua", "temperatura refrigerante", "temperatura acqua", "temperatura da agua",
        "koelwatertemperatuur", "watertemperatuur", "kylvattentemperatur", "vattentemperatur",
        "temperatura wody", "temperatura plynu chlodzacego", "teplota vody", "teplota chladici kapaliny",
        "jaahdytysnesteen lampotila", "viz homerseklet", "su sicakligi",
    ),
    _C.FUEL_TEMPERATURE: (
        "fuel temperature", "fuel temp", "t fuel", "Kraftstofftemperatur", "temperature carburant",
        "temperatura combustible", "temperatura carburante", "brandstoftemperatuur", "bransletemperatur",
        "temperatura paliwa", "teplota paliva",
    ),
    _C.EXHAUST_TEMPERATURE: (
        "exhaust temperature", "exhaust temp", "exhaust gas temperature", "exhaust gas temp", "egt", "t exh",
        "t exhaust", "Abgastemperatur", "temperature echappement", "temperature gaz echappement",
        "temperatura de escape", "temperatura escape", "temperatura scarico", "temperatura gas di scarico",
        "uitlaatgastemperatuur", "avgastemperatur", "temperatura spalin", "teplota spalin",
    ),
    _C.OIL_PRESSURE: (
        "oil pressure", "oil press", "p oil", "eop", "Oeldruck", "Öldruck", "pression huile", "pression d'huile",
        "presion de aceite", "presion aceite", "pressione olio", "pressao do oleo", "oliedruk", "oljetryck",
        "olietryk", "cisnienie oleju", "tlak oleje",
    ),
    _C.FUEL_PRESSURE: (
        "fuel pressure", "fuel press", "p fuel", "fuel rail pressure", "Kraftstoffdruck", "pression carburant",
        "pression essence", "presion de combustible", "pressione carburante", "pressao de combustivel",
        "brandstofdruk", "bransletryck", "cisnienie paliwa", "tlak paliva",
    ),
    _C.EXHAUST_PRESSURE: (
        "exhaust pressure", "exhaust back pressure", "exhaust backpressure", "back pressure", "backpressure", "p exh",
        "Abgasgegendruck", "Abgasdruck", "contre pression echappement", "contrapresion de escape",
        "contropressione scarico", "uitlaattegendruk", "avgasmottryck",
    ),
    _C.VEHICLE_SPEED: (
        "vehicle speed", "road speed", "wheel speed", "roller speed", "drum speed", "dyno speed", "vss", "speed",
        "ground speed", "Fahrgeschwindigkeit", "Geschwindigkeit", "Rollengeschwindigkeit", "vitesse",
        "vitesse vehicule", "velocidad", "velocidad del vehiculo", "velocita", "velocita veicolo", "velocidade",
        "snelheid", "rijsnelheid", "hastighet", "fordonshastighet", "predkosc", "predkosc pojazdu", "rychlost",
        "rychlost vozidla",
    ),
    _C.TRACTIVE_FORCE: (
        "tractive force", "tractive effort", "traction force", "roller force", "drum force", "wheel force", "Zugkraft",
        "effort de traction", "force de traction", "fuerza de traccion", "forza di trazione", "forca de tracao",
        "trekkracht", "dragkraft", "sila pociagowa", "tazna sila",
    ),
    _C.SWEEP_RATE: ("sweep rate", "rpm rate", "acceleration rate", "engine acceleration"),
    _C.CORRECTION_FACTOR: (
        "correction factor", "corr factor", "cf", "Korrekturfaktor", "facteur de correction", "factor de correccion",
        "fattore di correzione", "fator de correcao", "correctiefactor", "korrektionsfaktor",
        "wspolczynnik korekcji", "korekcni faktor",
    ),
}  # fmt: skip

# One or two letters, or a fluid, mean something only together with a unit of the right dimension.
SHORT_NAMES: Final[dict[str, tuple[Channel, ...]]] = {
    "t": (_C.TIME, _C.TORQUE), "n": (_C.SPEED,), "ne": (_C.SPEED, _C.POWER), "m": (_C.TORQUE,), "md": (_C.TORQUE,),
    "me": (_C.TORQUE,), "c": (_C.TORQUE,), "cm": (_C.TORQUE,), "mk": (_C.TORQUE,), "p": (_C.POWER,),
    "pe": (_C.POWER,), "pw": (_C.POWER,), "hp": (_C.POWER,), "v": (_C.VEHICLE_SPEED,), "f": (_C.TRACTIVE_FORCE,),
    "w": (_C.SPEED, _C.POWER), "omega": (_C.SPEED,), "q": (_C.TORQUE,),
    "coolant": (_C.COOLANT_TEMPERATURE,), "water": (_C.COOLANT_TEMPERATURE,), "wasser": (_C.COOLANT_TEMPERATURE,),
    "oil": (_C.OIL_TEMPERATURE, _C.OIL_PRESSURE), "oel": (_C.OIL_TEMPERATURE, _C.OIL_PRESSURE),
    "ol": (_C.OIL_TEMPERATURE, _C.OIL_PRESSURE),
    "exhaust": (_C.EXHAUST_TEMPERATURE, _C.EXHAUST_PRESSURE),
}  # fmt: skip


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


ARTICLES: Final = _words("the of at de des du del della do da di la le les el il der die das d l")
NEUTRAL_WORDS: Final = _words(
    "engine eng motor moteur motore silnika motoru dyno dynamometer bench modal test measured meas actual act avg "
    "average mean sensor ch channel value val ecu obd brake wheel wheels rear flywheel crank net total filtered "
    "smoothed smooth no nr bank cyl cylinder "
    "ist gemessen mesure mesuree medido medida misurato misurata gemeten uppmatt malt zmierzony namereny mereny "
    "calculated calc gas"
)
CORRECTED_WORDS: Final = _words(
    "corr corrected correct cor sae std stp din ece j1349 j607 iso korrigiert corrige corrigee corregido corregida "
    "corretto corretta corrigido gecorrigeerd korrigerad skorygowany skorygowana korigovany"
)
UNCORRECTED_WORDS: Final = _words(
    "uncorr uncorrected uncor raw obs observed unkorrigiert brut brute bruto lordo ongecorrigeerd okorrigerad "
    "nieskorygowany nekorigovany"
)
