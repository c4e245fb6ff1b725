"""The trade's common words in English, German, French and Spanish, and what each says about a column."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

_SAYS: dict[str, str] = {
    "generator": "generator generators genset gensets gen generateur generateurs generador generadores aggregat "
    "stromerzeuger stromaggregat notstromaggregat notstrom diesel dieselgenerator electrogene "
    "electrogeno groupe grupo",
    "grid": "grid ongrid mains utility netz stromnetz ortsnetz netzanschluss landstrom reseau secteur red shore",
    "load": "load loads house home household haus haushalt hauslast last lasten maison vivienda casa hogar "
    "cargas charges building gebaude gebaeude",
    "consumption": "consumption consumer consumers consumed usage verbrauch verbraucher hausverbrauch "
    "stromverbrauch consommation consommateurs consumo consumos demand demande demanda bedarf",
    "solar": "solar pv photovoltaic photovoltaics photovoltaik photovoltaique fotovoltaica fotovoltaico fv "
    "solaire panel panels panneau panneaux paneles paneaux array arrays string strings mppt sonne sun "
    "solaranlage",
    "battery": "battery batteries batt bat batterie batterien akku akkus akkumulator accu accus accumulateur "
    "accumulateurs bateria baterias acumulador storage speicher batteriespeicher stockage "
    "almacenamiento bms bank banks banco banc",
    "inverter": "inverter inverters inv wechselrichter wr onduleur onduleurs inversor inversores",
    "converter": "converter konverter inverterchargers invertercharger",
    "charger": "charger chargers ladegerat ladegeraet lader chargeur chargeurs cargador cargadores",
    "fuel": "fuel tank kraftstoff treibstoff carburant combustible gasoil deposito benzin",
    "power": "power leistung wirkleistung puissance potencia watt watts wirk pwr p",
    "voltage": "voltage voltages volt volts spannung tension voltaje u v",
    "current": "current currents amp amps ampere amperes amperage strom stromstarke stromstaerke courant "
    "intensite corriente intensidad i",
    "frequency": "frequency freq frequenz frequence frecuencia hertz f",
    "temperature": "temperature temp temperatur temperatura",
    "soc": "soc ladezustand ladestand akkustand batteriestand",
    "level": "level stand fullstand fuellstand niveau nivel",
    "limit": "limit limits limite limites limitation begrenzung grenze grenzwert strombegrenzung",
    "enabled": "enable enabled freigabe freigegeben habilitado habilitada autorise",
    "apparent": "apparent scheinleistung schein apparente aparente va kva",
    "reactive": "reactive blindleistung blind reactiva reactivo var kvar",
    "percent": "percent percentage pct prozent pourcentage porcentaje",
    "energy": "energy energie energia yield ertrag counter zahler zaehler zahlerstand zaehlerstand compteur "
    "contador index arbeit wirkarbeit wh kwh mwh ah",
    "maximum": "max maximum maximal maximale maxi maximo maxima hochst hoechst",
    "statistic": "min minimum minimal minimale mini minimo minima deviation std stdev sigma variance error errors "
    "fehler peak spitze spitzen pic pico crete "
    "delta abs absolute absolut absolu absoluto magnitude betrag direction richtung sens direccion sign "
    "vorzeichen ripple welligkeit thd",
    "period": "daily today heute hoy jour journalier journaliere diario diaria tag tages yesterday gestern hier "
    "ayer hourly week weekly woche wochen semaine semana month monthly monat monats mois mes year yearly jahr "
    "jahres annee ano lifetime cumul cumule cumulee cumulated cumulative accumulated acumulado acumulada",
    "setpoint": "setpoint set target soll sollwert consigne consigna command commanded cmd request requested "
    "reference ref vorgabe anforderung",
    "estimate": "forecast prognose prevision predicted expected erwartet theoretical theoretisch theorique teorico "
    "teorica potential potentiel estimate estimated simulated model curtailed curtailment clear ideal",
    "rating": "rated nominal nominale nenn nennleistung capacity kapazitat capacite capacidad installed contracted "
    "contratada reserve spare available availability disponible verfugbar free excess headroom",
    "state": "state states zustand etat estado status mode modus modo alarm alarme alarma fault faults defaut "
    "fallo stage running run runs start starts started stop stops stopped autostart relay relais rele switch "
    "schalter connected connection present lost code type flag flags event events priority",
    "elsewhere": "cell cells zelle zellen zell cellule cellules celda celdas midpoint mid mittelpunkt starter "
    "anlasser sensor sensors capteur logger rtc cmos remote phone car auto vehicle fahrzeug voiture vehicule "
    "coche vehiculo ev room raum ambient umgebung ambiante ambiente outside outdoor aussen inside enclosure "
    "cabinet mosfet board heatsink heater heating heizung heizer fan lufter coolant kuhlmittel oil exhaust abgas "
    "water wasser eau agua grey gray black fresh waste abwasser hot holding septic rain cistern zisterne "
    "humidity feuchte luftfeuchte humidite humedad capacitor speed drehzahl vitesse velocidad signal rssi wifi cpu "
    "pcb field excitation absorption float bulk cutoff boost equalize",
    "appliance": "pump pumpe pompe bomba heatpump warmepumpe waermepumpe boiler wallbox washer washing dryer "
    "dishwasher fridge freezer oven stove kettle kitchen sauna pool heizstab waschmaschine trockner kuhlschrank "
    "herd kuche chauffage chauffe frigo four cuisine piscine lavadora nevera horno cocina piscina calefaccion "
    "termo",
    "unsettled": "ups eps wind windrad windgenerator windturbine turbine turbina eolienne eolien eolica eolico "
    "aerogenerador hydro hydropower wasserkraft hydraulique hidraulica chp bhkw cogeneration",
    "unfit": "factor faktor facteur pf cos phi cosphi self selfconsumption eigenverbrauch autoconsommation "
    "autoconsumo eigen own direct directe directo direkt standby runtime laufzeit hours stunden efficiency "
    "wirkungsgrad rendement rendimiento cost price preis tariff loss losses verlust verluste perte pertes perdidas "
    "auslastung irradiance einstrahlung count cycles zyklen health soh id number",
    "total": "total totale sum gesamt summe somme suma overall",
    "plain": "avg average mean mittel mittelwert durchschnitt moyenne moyen moy media medio promedio value "
    "values wert valeur valor measured gemessen instantaneous actual aktuell momentan of the de du "
    "des der die das la le les el los las d l and und et y e au aux en a active actif activa activo "
    "aktiv real bus side seite terminal terminals electric electrical electrique electrica electrico "
    "elektrisch is ist est es when wenn bei means now meter reading channel measurement "
    "mesure medida messwert electricity electricite rms system one two phase phases ph leg legs "
    "pack net netto neto per pro par por with mit offgrid",
    "line": "line leiter ligne linea",
    "between": "between ll verkettet verkettete aussenleiter composee",
    "neutral": "neutral neutre neutro neutralleiter n",
    "chargestate": "chargestate",
    "charge": "charge charging lade laden ladung ladeleistung ladestrom charged recharge cargando",
    "carga": "carga",
    "discharge": "discharge discharging discharged entlade entladen entladung decharge descarga descargando dis",
    "import": "import imported importing imports bezug netzbezug bezogen soutirage soutiree achat importation "
    "importacion importada compra purchase purchased buy buying",
    "export": "export exported exporting exports feedin einspeisung einspeise eingespeist ruckspeisung "
    "rueckspeisung injection injectee vente exportation exportacion exportada vertido inyeccion sell "
    "sold surplus excedente uberschuss ueberschuss",
    "input": "input in inp eingang eingangs entree entrada",
    "output": "output out outp ausgang ausgangs sortie salida",
    "from": "from aus depuis desde",
    "to": "to into ins nach vers zum zur hacia",
    "ac": "ac ca wechselstrom",
    "dc": "dc cc gleichstrom",
    "positive": "positive positiv positif positivo positiva pos plus",
    "negative": "negative negativ negatif negativo negativa neg minus",
    "production": "production produced generation generated erzeugung erzeugt produktion produccion generacion",
    "time": "time times timestamp datetime zeit zeitstempel zeitpunkt uhrzeit horodatage horodate heure "
    "heures fecha hora ts epoch unix date datum clock stamp instant utc gmt recorded logged",
}

_LINKS = ("", "s", "n", "en", "es", "e")
"""What German puts between the parts of a compound."""

UNFIT = ("statistic", "period", "setpoint", "estimate", "rating", "state", "elsewhere", "appliance", "unfit")
"""Meanings that say that a column is no reading of the plant's own streams."""

_PHRASES = (
    (r"feed[ _-]?in", "feedin"),
    (r"(?:off|hors|aislad[oa] de(?: la)?)[ _-]?(?:grid|reseau|red)|inselnetz", "offgrid"),
    (r"on[ _-]grid", "ongrid"),
    (r"charge[ _]state", "chargestate"),
    (r"temp(?:erature)?[ _]sensor", "temperature"),
    (r"state[ _]of[ _]charge|charge[ _]level|etat[ _]de[ _]charge|niveau[ _]de[ _]charge", "soc"),
    (r"(?:estado|nivel)[ _]de[ _]carga", "soc"),
    (r"(?:generating|generator|gen|diesel)[ _-]?set\b", "generator"),
    (r"inverter[ _/-]+charger|charger[ _/-]+inverter", "converter"),
    (r"onduleur[ _/-]+chargeur|inversor[ _/-]+cargador", "converter"),
    (r"laderegler|charge[ _-]controller", " charger"),
    (r"(?<![\w.,])(?:5|12|24|48)[ _]?v(?:dc)?(?![a-z0-9])", " dc "),
    (r"(?<![\w.,])(?:110|115|120|220|230|240|400)[ _]?v(?:ac)?(?![a-z0-9])", " ac "),
    (r"self[ _-]consum\w*", "selfconsumption"),
    (r"power[ _]factor", "factor"),
    (r"(?<![a-z])([vuip])(batt?|bank|gen|pv|load|grid|solar|mppt|inv)(?![a-z])", r"\1 \2"),
    (r"(?<![a-z])(ac|dc|ca|cc)(in|out|input|output)(?![a-z])", r"\1 \2"),
    (r"(?:house|home|leisure|service|domestic)[ _-]?(?=batter|bank|akku)", ""),
    (r"(?:haus|heim)(?=batterie|akku|speicher)", ""),
    (
        r"(?:engine|motor|moteur|chassis|aux|auxiliary|trailer|crank(?:ing)?)[ _-]?(?=batt?(?:er|[ _]|$))",
        "starter ",
    ),
)

_LEGS: tuple[tuple[str, str], ...] = (
    (
        r"(?<![a-z0-9])[uvl]_?(?:12|23|31|13)(?![0-9a-z])|\b(phase|leg|line|l)[ _-]*(?:to[ _-]*)?\1\b",
        " between ",
    ),
    (r"(?<![a-z0-9])l([1-3])[ _/-]?l([1-3])(?![0-9a-z])", r" l\1 l\2 "),
    (r"(?<![a-z0-9])([uvi]?)_?l([1-3])[ _-]?n(?![0-9a-z])", r" \1 l\2 "),
    (r"(?<![a-z0-9])([uvi])_?l?([1-3])(?![0-9a-z])", r" \1 l\2 "),
    (r"\b(?:phase|ph|leg|line|leiter|ligne|linea|fase)[ _]?([1-3])\b", r" l\1 "),
    (r"\b(?:phase|ph|fase)[ _-]?[ar]\b", " l1 "),
    (r"\b(?:phase|ph|fase)[ _-]?[bs]\b", " l2 "),
    (r"\b(?:phase|ph|fase)[ _-]?[ct]\b", " l3 "),
)
"""How legs, and voltages between two of them, are written."""

_MEANING: dict[str, str] = {word: says for says, words in _SAYS.items() for word in words.split()}
_PARTS: dict[str, str] = {
    word: says
    for word, says in _MEANING.items()
    if (len(word) >= 3 or word in ("pv", "ac", "dc")) and says not in ("plain", "from", "to")
}
_FRENCH = frozenset(
    re.findall(
        r"\w+",
        "puissance reseau tension courant consommation onduleur chargeur solaire panneaux groupe maison heure "
        "horodatage frequence intensite secteur",
    )
)


def folded(text: str) -> str:
    """The text in small letters without accents."""
    spread = unicodedata.normalize("NFKD", text.replace("ß", "ss"))
    return "".join(c for c in spread if not unicodedata.combining(c)).lower()


def tokens(text: str) -> list[str]:
    """The words of a header: folded, split at blanks, signs, capitals and digits; `l1`, `l2`, `l3` stay whole."""
    spaced = re.sub(
        r"(?<![A-Za-z])(AC|DC|CA|CC|PV|FV|WR|MPPT)(?=[a-zà-ÿ]{2})", r"\1 ", text.replace("SoC", "soc")
    )
    spaced = re.sub(r"(?<=[a-zà-ÿ])(?=[A-ZÀ-Ý])|(?<=[A-Z])(?=[A-ZÀ-Ý][a-zà-ÿ]{2})", " ", spaced)
    plain = folded(spaced)
    for pattern, word in _PHRASES:
        plain = re.sub(pattern, word, plain)
    plain = re.sub(r"\(?\+\s*/\s*[-−]\)?", " ", plain)
    plain = re.sub(r"\+(?=\s*(?:=|[a-z)]))", " positive ", plain)
    plain = re.sub(r"\([-−]\)|(?<=[\s(/,;])[-−](?=\s*=)|(?<=[(/,;])\s*[-−](?=\s*[a-z])", " negative ", plain)
    for pattern, legs in _LEGS:
        plain = re.sub(pattern, legs, plain)
    return re.findall(r"l[1-3](?![0-9a-z])|[^\W\d_]+|\d+", plain)


@lru_cache(maxsize=4096)
def meanings(token: str) -> tuple[str, ...]:
    """What a word says: one meaning, several for a compound such as `batterieleistung`, none where unknown."""
    if token in _MEANING:
        return (_MEANING[token],)
    if not 4 <= len(token) <= 40:
        return ()
    best: list[tuple[str, ...] | None] = [()] + [None] * len(token)
    for stop in range(2, len(token) + 1):
        for start in range(stop - 1):
            before = best[start]
            if before is None:
                continue
            part = _part(token[start:stop], last=stop == len(token))
            found = best[stop]
            if part and (found is None or len(before) + 1 < len(found)):
                best[stop] = (*before, part)
    return best[-1] or ()


def _part(piece: str, last: bool) -> str:
    for link in _LINKS if not last else ("",):
        stem = piece.removesuffix(link) if link else piece
        if stem in _PARTS and (not link or piece.endswith(link)):
            return _PARTS[stem]
    return ""


def is_french(words: set[str]) -> bool:
    """True where a table's headers are French: there `charge` can mean the load."""
    return bool(words & _FRENCH)
