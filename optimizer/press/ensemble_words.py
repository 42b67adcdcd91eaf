"""What ensemble.pdf says, in five languages: `Words` with its own texts.

In: a language.  Out: `EnsembleWords`.  Always true: as in optimizer/press/language.py, a text stands in all five
languages side by side with the same gaps in each.  Usage of each language is from memory.
"""

from dataclasses import dataclass

from optimizer.press.language import Counted, Phrase, Sentence, Words
from optimizer.settings import Lang


@dataclass(frozen=True)
class EnsembleWords(Words):
    """The time line and the table of the turns."""

    # --- the head ---------------------------------------------------------------------------------------------
    who_turns_when = Sentence(
        "{title}: who turns when",
        "{title}: wer wann wendet",
        "{title}\u00a0: qui tourne quand",
        "{title}: quién pasa página y cuándo",
        "{title}: vem vänder när",
    )
    turns_of = Sentence(
        "page turns of {parts}",
        "Wendestellen in {parts}",
        "tournes de {parts}",
        "vueltas de página de {parts}",
        "vändningar i {parts}",
    )
    parts = Counted("part|parts", "Stimme|Stimmen", "partie|parties", "parte|partes", "stämma|stämmor")
    players = Counted(
        "player|players", "Spieler|Spieler", "musicien|musiciens", "músico|músicos", "spelare|spelare"
    )
    copies = Counted(
        "copy|copies",
        "Exemplar|Exemplare",
        "exemplaire|exemplaires",
        "ejemplar|ejemplares",
        "exemplar|exemplar",
    )
    section = Sentence(
        "{part}: {players}, {copies}",
        "{part}: {players}, {copies}",
        "{part}\u00a0: {players}, {copies}",
        "{part}: {players}, {copies}",
        "{part}: {players}, {copies}",
    )
    no_tempo = Phrase(
        "The score gives no tempo: all times follow from one that was assumed (--tempo).",
        "Die Partitur gibt kein Tempo an: Alle Zeiten folgen aus einem angenommenen (--tempo).",
        "La partition n’indique aucun tempo\u00a0: toutes les durées suivent un tempo supposé (--tempo).",
        "La partitura no indica tempo: todos los tiempos siguen uno supuesto (--tempo).",
        "Partituret anger inget tempo: alla tider följer ett antaget (--tempo).",
    )
    who = Phrase(
        "Who sounds, who rests, who turns.",
        "Wer spielt, wer pausiert, wer wendet.",
        "Qui joue, qui se tait, qui tourne.",
        "Quién toca, quién calla, quién pasa página.",
        "Vem spelar, vem pausar, vem vänder.",
    )
    never_two = Sentence(
        "No two parts turn within {time} of each other{but}.",
        "Nie wenden zwei Stimmen innerhalb von {time}{but}.",
        "Jamais deux parties ne tournent à moins de {time} d’intervalle{but}.",
        "Nunca pasan página dos partes con menos de {time} de diferencia{but}.",
        "Aldrig vänder två stämmor inom {time}{but}.",
    )
    at_once = Sentence(
        "{times}, {parts} turn within {time} of each other{more}{but}.",
        "{times} wenden {parts} innerhalb von {time}{more}{but}.",
        "{times}, {parts} tournent à moins de {time} d’intervalle{more}{but}.",
        "{times}, {parts} pasan página con menos de {time} de diferencia{more}{but}.",
        "{times} vänder {parts} inom {time}{more}{but}.",
    )
    not_between = Phrase(
        " (not counting turns between movements)",
        " (Wenden zwischen Sätzen nicht mitgezählt)",
        " (sans compter les tournes entre deux mouvements)",
        " (sin contar las vueltas de página entre movimientos)",
        " (vändningar mellan satser oräknade)",
    )
    and_so = Sentence(
        "; {times}, {parts}",
        "; {times} {parts}",
        "\u00a0; {times}, {parts}",
        "; {times}, {parts}",
        "; {times} {parts}",
    )
    never_apart = Sentence(
        "Had each part been planned alone, no two would turn within {time} of each other.",
        "Wäre jede Stimme für sich geplant, würden nie zwei innerhalb von {time} wenden.",
        "Si chaque partie était planifiée seule, jamais deux ne tourneraient à moins de {time} d’intervalle.",
        "Si cada parte se hubiera planeado sola, nunca pasarían página dos con menos de {time} de diferencia.",
        "Om varje stämma hade planerats för sig skulle aldrig två vända inom {time}.",
    )
    apart = Sentence(
        "Had each part been planned alone, {parts} would turn within {time} of each other {times}{more}.",
        "Wäre jede Stimme für sich geplant, würden {parts} {times} innerhalb von {time} wenden{more}.",
        "Si chaque partie était planifiée seule, {parts} tourneraient {times} à moins de {time} d’intervalle{more}.",
        "Si cada parte se hubiera planeado sola, {parts} pasarían página {times} con menos de {time} de "
        "diferencia{more}.",
        "Om varje stämma hade planerats för sig skulle {parts} vända inom {time} {times}{more}.",
    )
    _both_parts = Phrase(
        "both parts", "beide Stimmen", "les deux parties", "las dos partes", "båda stämmorna"
    )
    _all_parts = Sentence(
        "all {n} parts", "alle {n} Stimmen", "les {n} parties", "las {n} partes", "alla {n} stämmor"
    )
    _once = Phrase("once", "einmal", "une fois", "una vez", "en gång")
    _twice = Phrase("twice", "zweimal", "deux fois", "dos veces", "två gånger")
    _often = Sentence("{n} times", "{n}-mal", "{n} fois", "{n} veces", "{n} gånger")
    _gain_all = Phrase(
        "Planned together, there are fewer or easier turns at moments when more than half of those who play turn.",
        "Gemeinsam geplant, wird an Stellen, an denen mehr als die Hälfte der Spielenden wendet, weniger oder bequemer "
        "gewendet.",
        "Planifiées ensemble, les parties ont moins de tournes, ou de plus faciles, aux moments où plus de la moitié "
        "de ceux qui jouent tournent.",
        "Planeadas juntas, las partes tienen menos vueltas de página, o más fáciles, en los momentos en que pasa "
        "página más de la mitad de los que tocan.",
        "Planerade tillsammans har stämmorna färre eller bekvämare vändningar när mer än hälften av dem som spelar "
        "vänder.",
    )
    _gain_desks = Phrase(
        "Planned together, fewer stands turn at moments when more than half of them turn.",
        "Gemeinsam geplant, wenden weniger Pulte an Stellen, an denen mehr als die Hälfte von ihnen wendet.",
        "Planifiées ensemble, moins de pupitres tournent aux moments où plus de la moitié d’entre eux tournent.",
        "Planeadas juntas, pasan página menos atriles en los momentos en que lo hace más de la mitad de ellos.",
        "Planerade tillsammans vänder färre ställ när mer än hälften av dem vänder.",
    )
    gain_never = Phrase(
        "Had each part been planned alone, all would turn at once somewhere, or a whole family of instruments in a "
        "soft or sustained passage.",
        "Wäre jede Stimme für sich geplant, würden an einer Stelle alle zugleich wenden, oder eine ganze "
        "Instrumentenfamilie, wo sie leise oder gehalten spielt.",
        "Si chaque partie était planifiée seule, toutes tourneraient ensemble quelque part, ou toute une famille "
        "d’instruments dans un passage doux ou tenu.",
        "Si cada parte se hubiera planeado sola, en algún lugar pasarían página todas a la vez, o una familia entera "
        "de instrumentos en un pasaje suave o sostenido.",
        "Om varje stämma hade planerats för sig skulle någonstans alla vända samtidigt, eller en hel instrumentfamilj "
        "där den spelar svagt eller uthållet.",
    )
    points_more = Counted(
        "point more|points more",
        "Punkt mehr|Punkte mehr",
        "point de plus|points de plus",
        "punto más|puntos más",
        "poäng mer|poäng mer",
    )
    costs = Sentence(
        "Planning together costs the parts themselves {points} (1000 points are a turn at which notes are lost).",
        "Gemeinsam zu planen kostet die Stimmen selbst {points} (1000 Punkte sind eine Wendestelle, an der Noten "
        "verloren gehen).",
        "Planifier ensemble coûte aux parties elles-mêmes {points} (1000 points sont une tourne où des notes se "
        "perdent).",
        "Planear juntas cuesta a las propias partes {points} (1000 puntos son una vuelta de página en la que se "
        "pierden notas).",
        "Att planera tillsammans kostar stämmorna själva {points} (1000 poäng är en vändning där toner går förlorade).",
    )
    costs_nothing = Phrase(
        "Planning together costs the parts themselves nothing.",
        "Gemeinsam zu planen kostet die Stimmen selbst nichts.",
        "Planifier ensemble ne coûte rien aux parties elles-mêmes.",
        "Planear juntas no cuesta nada a las propias partes.",
        "Att planera tillsammans kostar stämmorna själva ingenting.",
    )
    not_proven = Phrase(
        "The joint plan is the best one found in the time given, not proven to be the best there is.",
        "Der gemeinsame Plan ist der beste, der in der gegebenen Zeit gefunden wurde; dass es keinen besseren gibt, "
        "ist nicht bewiesen.",
        "Le plan commun est le meilleur trouvé dans le temps imparti\u00a0; il n’est pas prouvé qu’il n’en existe pas "
        "de meilleur.",
        "El plan conjunto es el mejor hallado en el tiempo dado; no está probado que no haya otro mejor.",
        "Den gemensamma planen är den bästa som hittades på den givna tiden; att ingen bättre finns är inte bevisat.",
    )

    proven = Phrase(
        "The joint plan is proven to be the best there is.",
        "Dass es keinen besseren gemeinsamen Plan gibt, ist bewiesen.",
        "Il est prouvé qu’il n’existe pas de meilleur plan commun.",
        "Está probado que no hay mejor plan conjunto.",
        "Det är bevisat att ingen bättre gemensam plan finns.",
    )
    near_best = Sentence(
        "The joint plan is the best one found in the time given; it costs at most {percent}\u00a0% more than the best "
        "there can be.",
        "Der gemeinsame Plan ist der beste, der in der gegebenen Zeit gefunden wurde; er kostet höchstens "
        "{percent}\u00a0% mehr als der beste, den es geben kann.",
        "Le plan commun est le meilleur trouvé dans le temps imparti\u00a0; il coûte au plus {percent}\u00a0% de plus "
        "que le meilleur possible.",
        "El plan conjunto es el mejor hallado en el tiempo dado; cuesta como mucho un {percent}\u00a0% más que el "
        "mejor posible.",
        "Den gemensamma planen är den bästa som hittades på den givna tiden; den kostar högst {percent}\u00a0% mer än "
        "den bästa möjliga.",
    )

    # --- the signs --------------------------------------------------------------------------------------------
    sounds = Phrase("sounds", "spielt", "joue", "suena", "spelar")
    turns_back = Phrase(
        "turns back", "blättert zurück", "tourne en arrière", "vuelve atrás", "vänder tillbaka"
    )
    several = Phrase(
        "several turn at once",
        "mehrere wenden zugleich",
        "plusieurs tournent ensemble",
        "varios pasan página a la vez",
        "flera vänder samtidigt",
    )

    axis = Phrase(
        "Above each row, in small figures: at the left the time at which it begins, then bar numbers.",
        "Über jeder Reihe in kleinen Ziffern: links die Zeit, zu der sie beginnt, dann Taktzahlen.",
        "Au-dessus de chaque rangée, en petits chiffres\u00a0: à gauche le minutage de son début, puis les numéros de "
        "mesure.",
        "Sobre cada fila, en cifras pequeñas: a la izquierda el minuto en que empieza, después los números de compás.",
        "Ovanför varje rad, med små siffror: till vänster tiden då den börjar, sedan taktnummer.",
    )

    # --- the table --------------------------------------------------------------------------------------------
    time_heading = Phrase("time", "Zeit", "minutage", "minuto", "tid")
    bar_heading = Phrase("after bar", "nach Takt", "après mesure", "tras compás", "efter takt")
    part_heading = Phrase("part", "Stimme", "partie", "parte", "stämma")
    pages_row_heading = Phrase("pages", "Seiten", "pages", "páginas", "sidor")
    turn_heading = Phrase("turn", "Wenden", "tourne", "vuelta de página", "vändning")
    at_once_heading = Phrase("at once", "zugleich", "en même temps", "a la vez", "samtidigt")
    all_others = Phrase("all others", "alle anderen", "toutes les autres", "todas las demás", "alla andra")
    on_to_page = Sentence(
        "{here} to {there}",
        "{here} zu {there}",
        "{here} à {there}",
        "{here} a {there}",
        "{here} till {there}",
    )
    back_to_page = Sentence(
        "{here} back to {there}",
        "{here} zurück zu {there}",
        "{here} retour à {there}",
        "{here} atrás a {there}",
        "{here} tillbaka till {there}",
    )
    between = Phrase(
        "between movements", "zwischen Sätzen", "entre deux mouvements", "entre movimientos", "mellan satser"
    )
    free = Sentence(
        "{time}\u00a0free",
        "{time}\u00a0frei",
        "{time}\u00a0libres",
        "{time}\u00a0libres",
        "{time}\u00a0ledigt",
    )
    nobody = Phrase(
        "Nobody has to turn.",
        "Niemand muss wenden.",
        "Personne n’a à tourner.",
        "Nadie tiene que pasar página.",
        "Ingen behöver vända.",
    )

    def some(self, count: int, of: int) -> str:
        """ "2 parts", "both parts", "all 4 parts"."""
        if count < of:
            return self.parts(count)
        return self._both_parts if of == 2 else self._all_parts(n=of)

    def gain(self, what: str) -> str:
        """What is better when a limit of this name costs less (optimizer/parts/limits.py); empty of one that never
        costs anything."""
        return {"all": self._gain_all, "desks": self._gain_desks}.get(what, "")

    def times(self, number: int) -> str:
        """ "once", "3 times"."""
        return {1: self._once, 2: self._twice}.get(number) or self._often(n=number)


def ensemble_words(lang: Lang) -> EnsembleWords:
    """All texts in a language."""
    return EnsembleWords(lang)
