"""What label, guide and turn sheet say, in five languages; one place for every word.

In: a language.  Out: `Words`, whose fields are words, sentences with gaps and counted things.  Always true:
a text stands in all five languages side by side and has the same gaps in each; sentences are whole, so that
each language keeps its own order of words.

To add one, write a line into `Words`:

    seam = Phrase("seam", "Naht", "jointure", "junta", "skarv")
    fold = Sentence("Fold along {seam}.", "An {seam} falten.", ...)     # words.fold(seam="B")
    pieces = Counted("piece|pieces", ...)                               # words.pieces(3) -> "3 pieces"

Usage of each language is from memory unless a source is named; key names are checked against music21's.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from optimizer.score.model import Key
from optimizer.settings import Lang, Paper
from optimizer.turns.bars import ordinal
from optimizer.turns.model import Grade
from optimizer.units import mm_to_in

_ORDER: Final = {lang: place for place, lang in enumerate((Lang.EN, Lang.DE, Lang.FR, Lang.ES, Lang.SV))}
NBSP: Final = "\u00a0"
INCH_DIGITS: Final = 2  # a hundredth of an inch is a quarter of a millimetre
SAID_IN_SECONDS_S: Final = 57.5  # rounds to less than a minute
SAID_IN_HALVES_S: Final = 285.0  # rounds to less than five minutes


# Grades of turns that are counted: without a hand instead of no hand, and adjectives in the plural.
_NO_HAND: Final = {Lang.DE: "ohne freie Hand", Lang.FR: "sans main libre", Lang.SV: "utan ledig hand"}
_SEVERAL: Final[Mapping[Lang, Mapping[Grade, str]]] = {
    Lang.FR: {Grade.OPEN: "larges", Grade.QUICK: "rapides", Grade.TIGHT: "serrées"},
    Lang.ES: {Grade.OPEN: "cómodas", Grade.QUICK: "rápidas", Grade.TIGHT: "justas"},
    Lang.SV: {Grade.OPEN: "bekväma", Grade.QUICK: "snabba", Grade.TIGHT: "knappa"},
}


class _Texts:
    """The same text in English, German, French, Spanish and Swedish."""

    def __init__(self, en: str, de: str, fr: str, es: str, sv: str) -> None:
        self.texts: Final = (en, de, fr, es, sv)


class Phrase(_Texts):
    """A text without gaps."""

    def __get__(self, words: "Words", owner: type["Words"]) -> str:
        return self.texts[_ORDER[words.lang]]


class Sentence(_Texts):
    """A text with named gaps, filled by keyword: "after {bar}"."""

    def __get__(self, words: "Words", owner: type["Words"]) -> Callable[..., str]:
        return self.texts[_ORDER[words.lang]].format


class Counted(_Texts):
    """Singular and plural of a thing; the number is put before it unless `{n}` says where."""

    def __get__(self, words: "Words", owner: type["Words"]) -> Callable[[int], str]:
        one, many = self.texts[_ORDER[words.lang]].split("|")

        def count(number: int) -> str:
            # French counts 0 as one (grammar of the language, from memory).
            form = one if number == 1 or (number == 0 and words.lang is Lang.FR) else many
            return form.format(n=number) if "{n}" in form else f"{number}{NBSP}{form}"

        return count


@dataclass(frozen=True)
class Words:
    """All texts in one language. Fields are grouped by what uses them."""

    lang: Lang

    # --- everywhere -------------------------------------------------------------------------------------
    untitled = Phrase("Untitled", "Ohne Titel", "Sans titre", "Sin título", "Utan titel")
    page = Sentence("page {page}", "Seite {page}", "page {page}", "página {page}", "sida {page}")
    page_short = Sentence("p. {page}", "S. {page}", "p. {page}", "pág. {page}", "s. {page}")
    pages = Counted("page|pages", "Seite|Seiten", "page|pages", "página|páginas", "sida|sidor")
    bar = Sentence("bar {bar}", "Takt {bar}", "mesure {bar}", "compás {bar}", "takt {bar}")
    bars = Sentence("bars {bars}", "Takte {bars}", "mesures {bars}", "compases {bars}", "takterna {bars}")
    notes = Counted("note|notes", "Note|Noten", "note|notes", "nota|notas", "ton|toner")
    leaves = Counted("leaf|leaves", "Blatt|Blätter", "feuille|feuilles", "hoja|hojas", "blad|blad")
    sheets = Counted(
        "sheet of paper|sheets of paper",
        "Blatt Papier|Blatt Papier",
        "feuille de papier|feuilles de papier",
        "hoja de papel|hojas de papel",
        "pappersark|pappersark",
    )
    turn = Phrase("turn", "Wenden", "tourne", "vuelta", "vändning")
    turns = Counted(
        "turn|turns",
        "Wendestelle|Wendestellen",
        "tourne|tournes",
        "vuelta de página|vueltas de página",
        "vändning|vändningar",
    )
    no_turn = Phrase("no turn", "kein Wenden", "aucune tourne", "ninguna vuelta de página", "ingen vändning")
    back_turn = Phrase("back-turn", "Zurückblättern", "tourne en arrière", "vuelta atrás", "tillbakavändning")
    back_turns = Counted(
        "back-turn|back-turns",
        "Mal zurückblättern|Mal zurückblättern",
        "tourne en arrière|tournes en arrière",
        "vuelta atrás|vueltas atrás",
        "tillbakavändning|tillbakavändningar",
    )

    # --- hands and grades ---------------------------------------------------------------------------------
    left_hand = Phrase("left hand", "linke Hand", "main gauche", "mano izquierda", "vänster hand")
    right_hand = Phrase("right hand", "rechte Hand", "main droite", "mano derecha", "höger hand")
    both_hands = Phrase("both hands", "beide Hände", "les deux mains", "ambas manos", "båda händerna")
    a_hand = Phrase(
        "a hand is always free",
        "eine Hand ist immer frei",
        "une main est toujours libre",
        "siempre hay una mano libre",
        "en hand är alltid ledig",
    )
    open = Phrase("open", "bequem", "large", "cómoda", "bekväm")
    quick = Phrase("quick", "rasch", "rapide", "rápida", "snabb")
    but_by_heart = Sentence(
        "{grade}, but by heart",
        "{grade}, aber auswendig",
        "{grade}, mais par cœur",
        "{grade}, pero de memoria",
        "{grade}, men utantill",
    )
    tight = Phrase("tight", "knapp", "serrée", "justa", "knapp")
    blocked = Phrase("blocked", "keine Hand frei", "aucune main libre", "sin mano libre", "ingen ledig hand")

    def hand(self, name: str) -> str:
        """The hand that turns, by the name of a planned turn."""
        return {"left": self.left_hand, "right": self.right_hand, "free": self.a_hand}.get(
            name, self.both_hands
        )

    def graded(self, count: int, grade: Grade) -> str:
        """ "3 open" turns, in languages that have it in the plural."""
        if grade is Grade.BLOCKED and self.lang in _NO_HAND:
            return f"{count} {_NO_HAND[self.lang]}"
        plural = _SEVERAL.get(self.lang, {}).get(grade) if count > 1 else None
        return f"{count} {plural or self.grade(grade)}"

    def grade(self, grade: Grade) -> str:
        """A grade of a turn."""
        return {
            Grade.OPEN: self.open,
            Grade.QUICK: self.quick,
            Grade.TIGHT: self.tight,
            Grade.BLOCKED: self.blocked,
        }[grade]

    # --- label --------------------------------------------------------------------------------------------
    label = Phrase("label", "Etikett", "étiquette", "etiqueta", "etikett")
    key_by_analysis = Phrase(
        "key found by analysis",
        "Tonart durch Analyse ermittelt",
        "tonalité déterminée par analyse",
        "tonalidad hallada por análisis",
        "tonart bestämd genom analys",
    )
    key_as_it_sounds = Phrase("concert pitch", "klingend", "sons réels", "sonidos reales", "klingande")
    scored_for = Sentence(
        "for {players}", "für {players}", "pour {players}", "para {players}", "för {players}"
    )
    at_pitch = Sentence(
        "{instrument} in {pitch}",
        "{instrument} in {pitch}",
        "{instrument} en {pitch}",
        "{instrument} en {pitch}",
        "{instrument} i {pitch}",
    )
    duration_heading = Phrase("Duration", "Spieldauer", "Durée", "Duración", "Speltid")
    about = Sentence("about {time}", "etwa {time}", "environ {time}", "aprox. {time}", "ca {time}")
    tempo_assumed = Sentence(
        "tempo assumed: quarter = {tempo}",
        "Tempo angenommen: Viertel = {tempo}",
        "tempo supposé\u00a0: noire = {tempo}",
        "tempo supuesto: negra = {tempo}",
        "antaget tempo: fjärdedel = {tempo}",
    )
    minutes_and_half = Sentence(
        "{n}½\u00a0min",
        "{n}½\u00a0min",
        "{n}\u00a0min\u00a030\u00a0s",
        "{n}\u00a0min\u00a030\u00a0s",
        "{n}½\u00a0min",
    )
    pages_heading = Phrase("Pages", "Seiten", "Pages", "Páginas", "Sidor")
    desk_heading = Phrase("Desk", "Notenpult", "Pupitre", "Atril", "Notställ")
    binding_heading = Phrase("Binding", "Bindung", "Reliure", "Encuadernación", "Bindning")
    _some_desk = Phrase("music desk", "Notenpult", "pupitre", "atril", "notställ")
    desk_upright = Phrase("upright piano", "Klavier", "piano droit", "piano vertical", "piano")
    desk_grand = Phrase("grand piano", "Flügel", "piano à queue", "piano de cola", "flygel")
    desk_digital = Phrase("digital piano", "Digitalpiano", "piano numérique", "piano digital", "digitalpiano")
    desk_stand = Phrase(
        "music stand", "Notenständer", "pupitre pliant", "atril plegable", "hopfällbart notställ"
    )
    # below `desk_heading`, which says what it is
    _desk_of_stand = Phrase("music stand", "Notenständer", "pliant", "plegable", "hopfällbart")
    taped = Phrase("taped", "geklebt", "assemblées au ruban adhésif", "unidas con cinta", "tejpade")
    ring = Phrase("ring binder", "Ringordner", "classeur à anneaux", "carpeta de anillas", "ringpärm")
    stapled = Phrase("stapled booklet", "geheftet", "livret agrafé", "cuaderno grapado", "häftat")
    loose = Phrase("loose sheets", "lose Blätter", "feuilles volantes", "hojas sueltas", "lösa blad")
    one_sheet = Phrase(
        "a single sheet",
        "ein einzelnes Blatt",
        "une seule feuille",
        "una sola hoja",
        "ett enda blad",
    )
    folded_sheet = Phrase(
        "a folded sheet", "ein gefalteter Bogen", "une feuille pliée", "un pliego doblado", "ett vikt ark"
    )
    abreast = Counted(
        "page abreast|pages abreast",
        "Seite nebeneinander|Seiten nebeneinander",
        "page de front|pages de front",
        "página de frente|páginas de frente",
        "sida i bredd|sidor i bredd",
    )
    one_page = Phrase(
        "a single page", "eine einzige Seite", "une seule page", "una sola página", "en enda sida"
    )
    front_and_back = Phrase(
        "front and back",
        "Vorder- und Rückseite",
        "recto et verso",
        "anverso y reverso",
        "fram- och baksida",
    )
    both_abreast = Phrase(
        "both side by side",
        "beide nebeneinander",
        "les deux côte à côte",
        "las dos una junto a otra",
        "båda bredvid varandra",
    )
    all_abreast = Sentence(
        "all {n} side by side",
        "alle {n} nebeneinander",
        "les {n} côte à côte",
        "las {n} una junto a otra",
        "alla {n} bredvid varandra",
    )
    in_twos = Phrase("two at a time", "je zwei", "deux par deux", "de dos en dos", "två och två")
    first_then = Sentence(
        "first {first}, then {then}",
        "zuerst {first}, dann {then}",
        "d’abord {first}, puis {then}",
        "primero {first}, luego {then}",
        "först {first}, sedan {then}",
    )
    then_last = Sentence(
        "{then}, {last} at the end",
        "{then}, {last} am Schluss",
        "{then}, {last} à la fin",
        "{then}, {last} al final",
        "{then}, {last} på slutet",
    )
    cut_out = Phrase(
        "Cut along the broken line and glue the label to the blank outside, where it lies on top when the set is "
        "folded.",
        "An der gestrichelten Linie ausschneiden und auf die leere Außenseite kleben, wo das Etikett beim "
        "zusammengelegten Heft obenauf liegt.",
        "Découper le long du pointillé et coller l’étiquette sur l’extérieur blanc, là où elle se trouve sur le "
        "dessus une fois l’ensemble plié.",
        "Recortar por la línea de trazos y pegar la etiqueta en el exterior en blanco, donde quede a la vista con "
        "el juego plegado.",
        "Klipp ut längs den streckade linjen och klistra etiketten på den tomma utsidan, där den ligger överst när "
        "häftet är hopvikt.",
    )
    cut_out_back = Phrase(
        "Cut along the broken line and glue the label to the blank back of the folded set.",
        "An der gestrichelten Linie ausschneiden und auf die leere Rückseite des zusammengelegten Hefts kleben.",
        "Découper le long du pointillé et coller l’étiquette sur le dos blanc de l’ensemble plié.",
        "Recortar por la línea de trazos y pegar la etiqueta en el dorso en blanco del juego plegado.",
        "Klipp ut längs den streckade linjen och klistra etiketten på det hopvikta häftets tomma baksida.",
    )
    # where nothing is folded
    cut_out_white_back = Phrase(
        "Cut along the broken line and glue the label to the back, which is blank.",
        "An der gestrichelten Linie ausschneiden und auf die leere Rückseite kleben.",
        "Découper le long du pointillé et coller l’étiquette au dos, qui est blanc.",
        "Recortar por la línea de trazos y pegar la etiqueta en el dorso, que está en blanco.",
        "Klipp ut längs den streckade linjen och klistra etiketten på den tomma baksidan.",
    )
    cut_out_folder = Phrase(
        "Cut along the broken line and glue the label to the folder that the set is carried in.",
        "An der gestrichelten Linie ausschneiden und auf die Mappe kleben, in der das Heft getragen wird.",
        "Découper le long du pointillé et coller l’étiquette sur la chemise où l’on porte l’ensemble.",
        "Recortar por la línea de trazos y pegar la etiqueta en la carpeta en que se lleva el juego.",
        "Klipp ut längs den streckade linjen och klistra etiketten på mappen som häftet bärs i.",
    )
    cut_out_binder = Phrase(
        "Cut along the broken line and glue the label to the front of the binder.",
        "An der gestrichelten Linie ausschneiden und vorn auf den Ordner kleben.",
        "Découper le long du pointillé et coller l’étiquette sur le devant du classeur.",
        "Recortar por la línea de trazos y pegar la etiqueta en la cubierta de la carpeta.",
        "Klipp ut längs den streckade linjen och klistra etiketten på pärmens framsida.",
    )
    sharp_tools = Phrase(
        "Scissors and cutters are sharp: use a steel ruler and a mat, cut away from your fingers, and keep them from "
        "children. Glue nothing to an original or a borrowed copy.",
        "Schere und Messer sind scharf: Stahllineal und Unterlage benutzen, von den Fingern weg schneiden, von "
        "Kindern fernhalten. Nichts auf Originale oder geliehene Noten kleben.",
        "Ciseaux et cutter sont tranchants\u00a0: prendre une règle d’acier et un tapis de coupe, couper en "
        "s’éloignant des doigts, tenir hors de portée des enfants. Ne rien coller sur un original ni sur une "
        "partition empruntée.",
        "Las tijeras y el cúter cortan: usar regla de acero y base de corte, alejar la hoja de los dedos y "
        "mantenerlos fuera del alcance de los niños. No pegar nada en originales ni en partituras prestadas.",
        "Sax och kniv är vassa: använd stållinjal och skärunderlägg, skär bort från fingrarna och håll dem borta "
        "från barn. Klistra inget på original eller lånade noter.",
    )
    _and = Phrase(" and ", " und ", " et ", " y ", " och ")

    def desk(self, name: str) -> str:
        """A desk by its name in the settings; one that is given by its width is just a desk."""
        known = {
            "upright": self.desk_upright,
            "grand": self.desk_grand,
            "digital": self.desk_digital,
            "stand": self.desk_stand,
        }
        return known.get(name, self._some_desk)

    def desk_told(self, name: str) -> str:
        """The same where a heading says that it is a desk: of which kind, or how wide."""
        if name == "stand":
            return self._desk_of_stand
        is_width = name.endswith("mm")
        return f"{name.removesuffix('mm')}{NBSP}mm" if is_width else self.desk(name)

    def binding(self, name: str, leaves: int) -> str:
        """A binding by its name in the settings, of so many leaves: one needs none, unless it goes into a binder, and
        a single folded sheet needs no staples."""
        if leaves == 1 and name != "ring":
            return self.one_sheet
        if leaves == 2 and name == "stapled":
            return self.folded_sheet
        known = {"taped": self.taped, "ring": self.ring, "stapled": self.stapled, "loose": self.loose}
        return known.get(name, name)

    def pattern(self, sizes: Sequence[int], leaves: int) -> str:
        """How many pages lie open together, spread by spread: "first 3, then two at a time"; of two pages on the
        only leaf "front and back"."""
        if leaves == 1 and len(sizes) > 1:
            return self.front_and_back
        first, *middle, last = sizes if len(sizes) > 1 else (*sizes, 0)
        if len(sizes) == 1:
            return {1: self.one_page, 2: self.both_abreast}.get(first) or self.all_abreast(n=first)
        if not middle:
            return self.in_twos if first == last == 2 else self.first_then(first=first, then=last)
        begun = self.in_twos if first == 2 else self.first_then(first=first, then=self.in_twos)
        return begun if last == 2 else self.then_last(then=begun, last=last)

    def duration(self, seconds: float) -> str:
        """A playing time as it is said on a programme: 5 s steps below a minute, half minutes below five, then
        minutes."""
        if seconds < SAID_IN_SECONDS_S:
            time = f"{max(5, 5 * round(seconds / 5))}{NBSP}s"
        elif seconds < SAID_IN_HALVES_S:
            halves = round(seconds / 30)
            time = self.minutes_and_half(n=halves // 2) if halves % 2 else f"{halves // 2}{NBSP}min"
        else:
            hours, minutes = divmod(round(seconds / 60), 60)
            time = f"{hours}{NBSP}h{NBSP}{minutes:02d}{NBSP}min" if hours else f"{minutes}{NBSP}min"
        return self.about(time=time)

    # --- turn sheet ---------------------------------------------------------------------------------------
    turn_sheet = Phrase("turn sheet", "Wendeplan", "plan des tournes", "plan de vueltas", "vändningsplan")
    the_beginning = Phrase("beginning", "Anfang", "début", "principio", "början")
    carry = Counted(
        "carry {n} note|carry {n} notes",
        "{n} Note merken|{n} Noten merken",
        "{n} note de mémoire|{n} notes de mémoire",
        "{n} nota de memoria|{n} notas de memoria",
        "{n} ton i minnet|{n} toner i minnet",
    )
    _left_short = Phrase("LH", "l. H.", "m. g.", "m. i.", "v. h.")
    _right_short = Phrase("RH", "r. H.", "m. d.", "m. d.", "h. h.")
    _both_short = Phrase("both", "beide", "2 mains", "2 manos", "båda")
    _free_short = Phrase("free", "frei", "libre", "libre", "ledig")
    from_time = Sentence(
        "{what}: from {time}",
        "{what}: ab {time}",
        "{what}\u00a0: dès {time}",
        "{what}: desde {time}",
        "{what}: från {time}",
    )
    shared_copies = Sentence(
        "Two at a stand{who}: where time is short the grade is one easier than the time says, for the outside player "
        "plays on.",
        "Zu zweit an einem Pult{who}: Wo die Zeit knapp ist, gilt der nächstleichtere Grad, denn wer außen sitzt, "
        "spielt weiter.",
        "À deux par pupitre{who}\u00a0: là où le temps manque, le degré est d’un cran plus facile que ne le dit le "
        "temps, car celui qui est assis à l’extérieur continue de jouer.",
        "Dos por atril{who}: donde falta tiempo, el grado es uno más fácil de lo que dice el tiempo, pues quien se "
        "sienta por fuera sigue tocando.",
        "Två vid samma ställ{who}: där tiden är knapp är graden ett steg lättare än tiden säger, för den som sitter "
        "utåt spelar vidare.",
    )
    how_to_read = Phrase(
        "The strip is the piece as it is played, time from left to right; even pages are shaded, small figures are "
        "bars, arrows lead to the bar where the music goes on. A heavy line is a turn. Below it: its name in the "
        "guide, the pages, the time a hand is free, which hand, and the notes to keep in mind.",
        "Der Streifen ist das Stück, wie es gespielt wird, die Zeit läuft von links nach rechts; gerade Seiten sind "
        "grau, kleine Ziffern sind Takte, Pfeile führen zu dem Takt, bei dem es weitergeht. Ein dicker Strich heißt "
        "Wenden. Darunter: der Name der Stelle in der Anleitung, die Seiten, wie lange eine Hand frei ist, welche, "
        "und was man sich merken muss.",
        "La bande est la pièce telle qu’on la joue, le temps va de gauche à droite\u00a0; les pages paires sont "
        "grisées, les petits chiffres sont des mesures, les flèches mènent à la mesure où l’on poursuit. Un trait "
        "épais est une tourne. Dessous\u00a0: son nom dans le guide, les pages, le temps pendant lequel une main est "
        "libre, laquelle, et les notes à retenir.",
        "La banda es la pieza tal como se toca, con el tiempo de izquierda a derecha; las páginas pares van "
        "sombreadas, las cifras pequeñas son compases y las flechas llevan al compás en que se sigue. Una línea "
        "gruesa es una vuelta de página. Debajo: su nombre en la guía, las páginas, el tiempo en que queda libre una "
        "mano, cuál es, y las notas que hay que retener.",
        "Remsan är stycket som det spelas, tiden går från vänster till höger; jämna sidor är grå, små siffror är "
        "takter, pilar leder till den takt där musiken fortsätter. Ett tjockt streck är en vändning. Under det: dess "
        "namn i handledningen, sidorna, hur länge en hand är ledig, vilken, och tonerna att minnas.",
    )

    def hand_short(self, name: str) -> str:
        """The same as abbreviated in music."""
        return {"left": self._left_short, "right": self._right_short, "free": self._free_short}.get(
            name, self._both_short
        )

    def time(self, number: int) -> str:
        """ "2nd time" of a repeated passage."""
        ending = {Lang.EN: ordinal(number)[len(str(number)) :], Lang.SV: ":a" if number <= 2 else ":e"}
        return self._time(n=f"{number}{ending.get(self.lang, '')}")

    _time = Sentence("{n} time", "{n}. Mal", "{n}e fois", "{n}.ª vez", "{n} gången")

    # --- figures ------------------------------------------------------------------------------------------
    _point = Phrase(".", ",", ",", ",", ",")

    def decimal(self, value: float, digits: int = 1) -> str:
        """A number with the decimal sign of the language."""
        return f"{value:.{digits}f}".replace(".", self._point)

    def number(self, value: float) -> str:
        """A number as short as it goes."""
        return f"{value:g}".replace(".", self._point)

    _inches = Sentence("{n}\u00a0in", "{n}\u00a0Zoll", "{n}\u00a0po", "{n}\u00a0pulg.", "{n}\u00a0tum")

    def length(self, length_mm: float, paper: Paper, digits: int = 0) -> str:
        """A length in mm; beside paper that is measured in inches, in inches first."""
        return self._measured(paper, [length_mm], digits)

    def size(self, width_mm: float, height_mm: float, paper: Paper, digits: int = 0) -> str:
        """ "210 × 297 mm"."""
        return self._measured(paper, [width_mm, height_mm], digits)

    def tape_size(self, paper: Paper) -> str:
        """A strip of tape, beside paper of either kind in round figures."""
        return self._inches(n="¾ × 1½") if paper.is_american else f"2 × 4{NBSP}cm"

    def _measured(self, paper: Paper, lengths_mm: Sequence[float], digits: int) -> str:
        metric = " × ".join(self.number(round(length_mm, digits)) for length_mm in lengths_mm) + f"{NBSP}mm"
        if not paper.is_american:
            return metric
        inches = " × ".join(self.number(round(mm_to_in(length_mm), INCH_DIGITS)) for length_mm in lengths_mm)
        return f"{self._inches(n=inches)} ({metric})"

    def seconds(self, value: float) -> str:
        """ "2.4 s"."""
        return f"{self.decimal(value)}{NBSP}s"

    def listed(self, items: Sequence[str]) -> str:
        """ "a, b and c"."""
        if len(items) < 2:
            return "".join(items)
        spanish_i = self.lang is Lang.ES and items[-1].lower().startswith(("i", "hi", "í"))
        return f"{', '.join(items[:-1])}{' e ' if spanish_i else self._and}{items[-1]}"

    def tonic(self, step: str, alter: int) -> str:
        """A note's name: "B-flat", "B", "si bémol", "si bemol", "B"."""
        return _NOTE_NAMES[self.lang](step, alter)

    def key(self, key: Key) -> str:
        """A key as musicians say it: "E-flat major", "Es-Dur", "mi bémol majeur", "mi bemol mayor", "Ess-dur"."""
        tonic, mode = self.tonic(*key.tonic), _MODES[key.mode].__get__(self, Words)
        if self.lang in _HYPHENED:  # a small letter where the third is minor
            return f"{tonic.lower() if key.mode in _WITH_MINOR_THIRD else tonic}-{mode}"
        return f"{tonic} {mode}"

    def key_title(self, key: Key) -> str:
        """The same as a line of its own: with a capital, but for a minor key of German and Swedish."""
        name = self.key(key)
        return name if self.lang in _HYPHENED else name[0].upper() + name[1:]

    def named(self, thing: Counted, number: int) -> str:
        """One thing without its number ("violin"), several with it ("2 violins")."""
        counted = thing.__get__(self, Words)(number)
        return counted.removeprefix(f"1{NBSP}")


# German and Swedish add an ending to the letter, the others a word. Swedish as in current use (Ess, fiss, B for B
# flat, H). Double accidentals from memory.
_ENGLISH: Final = {-2: "-double-flat", -1: "-flat", 0: "", 1: "-sharp", 2: "-double-sharp"}
_GERMAN: Final = {-2: "eses", -1: "es", 0: "", 1: "is", 2: "isis"}
_SWEDISH: Final = {-2: "essess", -1: "ess", 0: "", 1: "iss", 2: "ississ"}
_FRENCH: Final = {-2: " double bémol", -1: " bémol", 0: "", 1: " dièse", 2: " double dièse"}
_SPANISH: Final = {-2: " doble bemol", -1: " bemol", 0: "", 1: " sostenido", 2: " doble sostenido"}
_RE_FRENCH: Final = {"C": "do", "D": "ré", "E": "mi", "F": "fa", "G": "sol", "A": "la", "B": "si"}
_RE_SPANISH: Final = _RE_FRENCH | {"D": "re"}
_HYPHENED: Final = frozenset({Lang.DE, Lang.SV})
_WITH_MINOR_THIRD: Final = frozenset({"minor", "dorian", "phrygian", "aeolian", "locrian"})
_MODES: Final[Mapping[str, Phrase]] = {
    "major": Phrase("major", "Dur", "majeur", "mayor", "dur"),
    "minor": Phrase("minor", "Moll", "mineur", "menor", "moll"),
    "ionian": Phrase("ionian", "Ionisch", "ionien", "jónico", "jonisk"),
    "dorian": Phrase("dorian", "Dorisch", "dorien", "dórico", "dorisk"),
    "phrygian": Phrase("phrygian", "Phrygisch", "phrygien", "frigio", "frygisk"),
    "lydian": Phrase("lydian", "Lydisch", "lydien", "lidio", "lydisk"),
    "mixolydian": Phrase("mixolydian", "Mixolydisch", "mixolydien", "mixolidio", "mixolydisk"),
    "aeolian": Phrase("aeolian", "Äolisch", "éolien", "eólico", "eolisk"),
    "locrian": Phrase("locrian", "Lokrisch", "locrien", "locrio", "lokrisk"),
}


def _with_h(step: str, alter: int, endings: Mapping[int, str]) -> str:
    """A note where B is B flat and H is B: Es, As, B, Heses; Ess, Ass, B."""
    if (step, alter) == ("B", -1):
        return "B"
    letter = "H" if step == "B" else step
    ending = endings[alter]
    return letter + (ending[1:] if letter in "AE" and alter < 0 else ending)


_NOTE_NAMES: Final[Mapping[Lang, Callable[[str, int], str]]] = {
    Lang.EN: lambda step, alter: step + _ENGLISH[alter],
    Lang.DE: lambda step, alter: _with_h(step, alter, _GERMAN),
    Lang.FR: lambda step, alter: _RE_FRENCH[step] + _FRENCH[alter],
    Lang.ES: lambda step, alter: _RE_SPANISH[step] + _SPANISH[alter],
    Lang.SV: lambda step, alter: _with_h(step, alter, _SWEDISH),
}


def words(lang: Lang) -> Words:
    """All texts in a language."""
    return Words(lang)
