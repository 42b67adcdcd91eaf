"""What the guide says, in five languages: `Words` with the guide's own sentences.

In: a language.  Out: `GuideWords`.  Always true: as in optimizer/press/language.py, a text stands in all five
languages side by side with the same gaps in each.  Usage of each language is from memory.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from optimizer.press.language import Counted, Phrase, Sentence, Words
from optimizer.settings import Lang


@dataclass(frozen=True)
class GuideWords(Words):
    """All texts of the guide in one language, grouped by where they stand."""

    # --- guide: spreads and turns -------------------------------------------------------------------------
    guide = Phrase("guide", "Anleitung", "guide", "guía", "handledning")
    paper_and_desk = Sentence(
        "Paper {paper}, {size} · {desk}, {width} wide, {abreast}",
        "Papier {paper}, {size} · {desk}, {width} breit, {abreast}",
        "Papier {paper}, {size} · {desk}, {width} de large, {abreast}",
        "Papel {paper}, {size} · {desk}, {width} de ancho, {abreast}",
        "Papper {paper}, {size} · {desk}, {width} brett, {abreast}",
    )
    staff = Sentence(
        "staff {staff}\u00a0mm",
        "Notensystem {staff}\u00a0mm",
        "portée {staff}\u00a0mm",
        "pauta {staff}\u00a0mm",
        "notsystem {staff}\u00a0mm",
    )
    told = Sentence("{what}: {how}", "{what}: {how}", "{what}\u00a0: {how}", "{what}: {how}", "{what}: {how}")
    then = Phrase("; ", "; ", "\u00a0; ", "; ", "; ")
    page_range = Sentence(
        "pages {first}–{last}",
        "Seiten {first}–{last}",
        "pages {first}–{last}",
        "páginas {first}–{last}",
        "sidorna {first}–{last}",
    )
    blank_page = Phrase("blank", "leer", "vierge", "en blanco", "tom")
    turns_heading = Phrase("Turns", "Wenden", "Tournes", "Vueltas de página", "Vändningar")
    no_turns_heading = Phrase(
        "No turns", "Kein Wenden", "Aucune tourne", "Sin vueltas de página", "Inga vändningar"
    )
    back_turns_heading = Phrase(
        "Back-turns", "Zurückblättern", "Tournes en arrière", "Vueltas atrás", "Tillbakavändningar"
    )
    all_open = Phrase(
        "All pages lie open together.",
        "Alle Seiten liegen zugleich offen.",
        "Toutes les pages sont ouvertes ensemble.",
        "Todas las páginas están abiertas a la vez.",
        "Alla sidor ligger öppna samtidigt.",
    )
    on_one_page = Phrase(
        "Everything is on one page.",
        "Alles steht auf einer Seite.",
        "Tout tient sur une page.",
        "Todo cabe en una página.",
        "Allt står på en sida.",
    )
    turn_to = Sentence(
        "Page {here}, turn to page {there}:",
        "Seite {here}, wenden zu Seite {there}:",
        "Page {here}, tourner vers la page {there}\u00a0:",
        "Página {here}, pasar a la página {there}:",
        "Sida {here}, vänd till sida {there}:",
    )
    jump_on_to = Sentence(
        "Page {here}, on to page {there}:",
        "Seite {here}, vor zu Seite {there}:",
        "Page {here}, avancer à la page {there}\u00a0:",
        "Página {here}, seguir en la página {there}:",
        "Sida {here}, fram till sida {there}:",
    )
    back_to = Sentence(
        "Page {here}, back to page {there}:",
        "Seite {here}, zurück zu Seite {there}:",
        "Page {here}, revenir à la page {there}\u00a0:",
        "Página {here}, atrás a la página {there}:",
        "Sida {here}, tillbaka till sida {there}:",
    )
    leaves_at_once = Sentence(
        "{leaves} at once",
        "{leaves} auf einmal",
        "{leaves} à la fois",
        "{leaves} a la vez",
        "{leaves} på en gång",
    )
    after_bar = Sentence(
        "after bar {bar}",
        "nach Takt {bar}",
        "après la mesure {bar}",
        "tras el compás {bar}",
        "efter takt {bar}",
    )
    _hand_free = Sentence(
        "{hand} free for {seconds}",
        "{hand} {seconds} frei",
        "{hand} libre {seconds}",
        "{hand} libre {seconds}",
        "{hand} ledig {seconds}",
    )
    _hands_free = Sentence(
        "{hand} free for {seconds}",
        "{hand} {seconds} frei",
        "{hand} libres {seconds}",
        "{hand} libres {seconds}",
        "{hand} lediga {seconds}",
    )
    from_beat = Sentence(
        "from beat {beat}",
        "ab Schlag {beat}",
        "à partir du temps {beat}",
        "desde el tiempo {beat}",
        "från slag {beat}",
    )
    to_beat = Sentence(
        "to beat {beat}",
        "bis Schlag {beat}",
        "jusqu’au temps {beat}",
        "hasta el tiempo {beat}",
        "till slag {beat}",
    )
    of_bar = Sentence(
        "of bar {bar}", "in Takt {bar}", "de la mesure {bar}", "del compás {bar}", "i takt {bar}"
    )
    movement_ends = Phrase(
        "the movement ends",
        "der Satz ist zu Ende",
        "fin du mouvement",
        "termina el movimiento",
        "satsen är slut",
    )
    played_times = Counted(
        "played once|played {n} times",
        "einmal gespielt|{n}-mal gespielt",
        "jouée une fois|jouée {n} fois",
        "se toca una vez|se toca {n} veces",
        "spelas en gång|spelas {n} gånger",
    )
    by_heart = Sentence(
        "carry {notes}", "{notes} im Kopf", "{notes} de mémoire", "{notes} de memoria", "{notes} i minnet"
    )
    before_you_play = Phrase(
        "Before you play", "Vor dem Spielen", "Avant de jouer", "Antes de tocar", "Innan du spelar"
    )
    print_true_lead = Phrase(
        "Print at 100\u00a0%",
        "Mit 100\u00a0% drucken",
        "Imprimer à 100\u00a0%",
        "Imprimir al 100\u00a0%",
        "Skriv ut i 100\u00a0%",
    )
    print_true = Sentence(
        "(“actual size”, never “fit to page”), {sides}. The line at the foot of this page must then measure "
        "100\u00a0mm.",
        "(„tatsächliche Größe“, nie „an Seite anpassen“), {sides}. Die Linie am Fuß dieser Seite misst dann "
        "100\u00a0mm.",
        "(«\u00a0taille réelle\u00a0», jamais «\u00a0ajuster à la page\u00a0»), {sides}. La ligne au bas de "
        "cette page mesure alors 100\u00a0mm.",
        "(«tamaño real», nunca «ajustar a la página»), {sides}. La línea al pie de esta página mide entonces "
        "100\u00a0mm.",
        "(”verklig storlek”, aldrig ”anpassa till sidan”), {sides}. Linjen längst ned på sidan ska då mäta "
        "100\u00a0mm.",
    )
    in_two_runs_lead = Phrase(
        "Both sides by hand:",
        "Beidseitig von Hand:",
        "Recto verso à la main\u00a0:",
        "Doble cara a mano:",
        "Dubbelsidigt för hand:",
    )
    in_two_runs = Phrase(
        "print the odd pages of pages.pdf, but for the test page at its end. Turn the stack over like a leaf of a "
        "book, put it back in and print the even pages. Try it with two sheets first.",
        "Drucken Sie die ungeraden Seiten von pages.pdf ohne die Testseite am Schluss. Wenden Sie den Stapel wie ein "
        "Blatt im Buch, legen Sie ihn wieder ein und drucken Sie die geraden Seiten. Versuchen Sie es erst mit zwei "
        "Blättern.",
        "imprimez les pages impaires de pages.pdf, sauf la page d’essai à la fin. Retournez la pile comme la feuille "
        "d’un livre, remettez-la dans l’imprimante et imprimez les pages paires. Essayez d’abord avec deux feuilles.",
        "imprima las páginas impares de pages.pdf, salvo la página de prueba del final. Dé la vuelta al montón como a "
        "una hoja de libro, vuelva a ponerlo en la impresora e imprima las páginas pares. Pruebe antes con dos hojas.",
        "skriv ut de udda sidorna i pages.pdf utom provsidan i slutet. Vänd bunten som ett blad i en bok, lägg "
        "tillbaka den i skrivaren och skriv ut de jämna sidorna. Prova först med två ark.",
    )
    in_two_runs_of_one = Phrase(
        "print page 1 of pages.pdf, turn the sheet over like a leaf of a book, put it back in and print page 2.",
        "Drucken Sie Seite 1 von pages.pdf, wenden Sie das Papier wie ein Blatt im Buch, legen Sie es wieder ein und "
        "drucken Sie Seite 2.",
        "imprimez la page 1 de pages.pdf, retournez la feuille comme celle d’un livre, remettez-la dans l’imprimante "
        "et imprimez la page 2.",
        "imprima la página 1 de pages.pdf, dé la vuelta a la hoja como a la de un libro, vuelva a ponerla en la "
        "impresora e imprima la página 2.",
        "skriv ut sidan 1 av pages.pdf, vänd papperet som ett blad i en bok, lägg tillbaka det i skrivaren och skriv "
        "ut sidan 2.",
    )
    ruler = Phrase(
        "100\u00a0mm when printed at actual size",
        "100\u00a0mm, wenn in tatsächlicher Größe gedruckt",
        "100\u00a0mm à l’impression en taille réelle",
        "100\u00a0mm si se imprime a tamaño real",
        "100\u00a0mm vid utskrift i verklig storlek",
    )
    no_hand_lead = Sentence(
        "No hand is free at {turns}.",
        "Bei {turns} ist keine Hand frei.",
        "Aucune main n’est libre à {turns}.",
        "No hay mano libre en {turns}.",
        "Ingen hand är ledig vid {turns}.",
    )
    no_hand = Phrase(
        "Decide beforehand who turns, or which notes may be left out.",
        "Vorher entscheiden, wer wendet oder welche Noten wegbleiben dürfen.",
        "Décidez d’avance qui tourne, ou quelles notes peuvent manquer.",
        "Decida antes quién pasa la página o qué notas se pueden omitir.",
        "Bestäm i förväg vem som vänder eller vilka noter som kan utgå.",
    )
    much_by_heart_lead = Sentence(
        "Much to remember at {turns}.",
        "Viel im Kopf zu behalten bei {turns}.",
        "Beaucoup à retenir ({turns}).",
        "Mucho que recordar en {turns}.",
        "Mycket att minnas vid {turns}.",
    )
    much_by_heart = Phrase(
        "More notes than anyone holds at a glance: learn these bars by heart, or have somebody turn.",
        "Mehr Noten, als man auf einen Blick behält: diese Takte auswendig lernen oder wenden lassen.",
        "Plus de notes qu’on n’en retient d’un coup d’œil\u00a0: apprenez ces mesures par cœur, ou faites tourner.",
        "Más notas de las que se retienen de un vistazo: apréndase estos compases de memoria o que otro pase la "
        "página.",
        "Fler noter än man minns efter en blick: lär dig de takterna utantill, eller låt någon annan vända.",
    )
    assumed_tempo_lead = Phrase(
        "No tempo in the score.",
        "Kein Tempo in der Partitur.",
        "Aucun tempo dans la partition.",
        "La partitura no indica tempo.",
        "Inget tempo i noterna.",
    )
    assumed_tempo = Sentence(
        "{tempo} quarters a minute are assumed; all seconds and grades follow from that (--tempo).",
        "Angenommen sind {tempo} Viertel in der Minute; danach richten sich alle Sekunden und Urteile (--tempo).",
        "On suppose {tempo} noires à la minute\u00a0; toutes les secondes et les degrés en découlent (--tempo).",
        "Se suponen {tempo} negras por minuto; de ahí salen todos los segundos y grados (--tempo).",
        "{tempo} fjärdedelar i minuten antas; alla sekunder och omdömen följer av det (--tempo).",
    )
    bars_counted = Counted("bar|bars", "Takt|Takte", "mesure|mesures", "compás|compases", "takt|takter")
    never_reached_lead = Sentence(
        "Never reached: {bars}.",
        "Nie erreicht: {bars}.",
        "Jamais atteint\u00a0: {bars}.",
        "Nunca se llega a: {bars}.",
        "Nås aldrig: {bars}.",
    )
    never_reached = Phrase(
        "Played as marked, repeats and jumps never lead there. Look at the signs; turns are reckoned as if these bars "
        "came last.",
        "Wie bezeichnet gespielt, führen Wiederholungen und Sprünge nie dorthin. Prüfen Sie die Zeichen; gerechnet "
        "ist, als kämen diese Takte zuletzt.",
        "Telles qu’elles sont indiquées, les reprises et les renvois n’y mènent jamais. Vérifiez les signes\u00a0; les "
        "tournes sont calculées comme si ces mesures venaient en dernier.",
        "Tal como están indicadas, las repeticiones y los saltos nunca llevan allí. Revise los signos; se calcula como "
        "si esos compases vinieran al final.",
        "Spelade som de står leder repriser och hopp aldrig dit. Se över tecknen; vändningarna räknas som om de "
        "takterna kom sist.",
    )
    nothing_to_play_lead = Sentence(
        "No notes for the keyboard on {pages}.",
        "Keine Noten für das Tasteninstrument: {pages}.",
        "Pas de notes pour le clavier\u00a0: {pages}.",
        "Sin notas para el teclado: {pages}.",
        "Inga toner för klaviaturen: {pages}.",
    )
    nothing_to_play = Phrase(
        "The file has none there. Where later verses go like the first one, play from its page, or write them out.",
        "In der Datei stehen dort keine. Wo spätere Strophen wie die erste gehen, aus deren Seite spielen oder sie "
        "ausschreiben.",
        "Le fichier n’en contient pas là. Si les couplets suivants vont comme le premier, jouez sur sa page, ou "
        "écrivez-les en entier.",
        "El archivo no las trae ahí. Si las estrofas siguientes van como la primera, toque por su página o escríbalas "
        "enteras.",
        "Filen har inga där. Om senare verser går som den första, spela efter dess sida eller skriv ut dem.",
    )
    begins_with_two_lead = Phrase(
        "The first page is page 2.",
        "Die erste Seite ist Seite 2.",
        "La première page est la page 2.",
        "La primera página es la 2.",
        "Första sidan är sidan 2.",
    )
    begins_with_two = Phrase(
        "Odd pages then lie on the right, as players expect; none is missing.",
        "So liegen ungerade Seiten rechts, wie man es gewohnt ist; es fehlt keine.",
        "Les pages impaires sont ainsi à droite, comme on s’y attend\u00a0; il n’en manque aucune.",
        "Así las páginas impares quedan a la derecha, como se espera; no falta ninguna.",
        "Då ligger udda sidor till höger, som man är van; ingen saknas.",
    )
    nothing_again_lead = Phrase(
        "No bars printed again.",
        "Keine Takte noch einmal gedruckt.",
        "Aucune mesure réimprimée.",
        "No se repite ningún compás impreso.",
        "Inga takter tryckta igen.",
    )
    nothing_again = Phrase(
        "At none of these turns would a strip of bars help enough to be worth its room.",
        "An keiner dieser Wendestellen hülfe ein Streifen mit Takten genug, um seinen Platz wert zu sein.",
        "À aucune de ces tournes une bande de mesures n’aiderait assez pour valoir sa place.",
        "En ninguna de estas vueltas una tira de compases ayudaría lo bastante para valer su sitio.",
        "Vid ingen av vändningarna skulle en remsa med takter hjälpa nog för att vara värd sin plats.",
    )
    copies_lead = Sentence(
        "Print {n} copies of this part:",
        "Diese Stimme {n}-mal drucken:",
        "Imprimez cette partie en {n} exemplaires\u00a0:",
        "Imprima {n} ejemplares de esta parte:",
        "Skriv ut {n} exemplar av den här stämman:",
    )
    copies = Phrase(
        "no more than two players to a copy.",
        "höchstens zwei spielen aus einem Exemplar.",
        "deux musiciens au plus par exemplaire.",
        "dos músicos como máximo por ejemplar.",
        "högst två spelare per exemplar.",
    )
    shared_copy_lead = Phrase(
        "Two players at one stand:",
        "Zwei an einem Pult:",
        "Deux musiciens à un pupitre\u00a0:",
        "Dos músicos en un atril:",
        "Två vid samma ställ:",
    )
    shared_copy = Phrase(
        "the inside player turns, the outside player plays on; that is why the grades above are easier than the times.",
        "Wer innen sitzt, wendet, wer außen sitzt, spielt weiter; deshalb sind die Urteile oben milder als die Zeiten.",
        "celui qui est assis à l’intérieur tourne, l’autre continue de jouer\u00a0; c’est pourquoi les degrés "
        "ci-dessus sont plus doux que les temps.",
        "quien se sienta por dentro pasa la página, el otro sigue tocando; por eso los grados de arriba son más suaves "
        "que los tiempos.",
        "den som sitter inåt vänder, den andra spelar vidare; därför är graderna ovan mildare än tiderna.",
    )
    folded_corner_lead = Phrase(
        "A folded corner at the foot of a page:",
        "Eine umgeknickte Ecke am Fuß einer Seite:",
        "Un coin plié au bas d’une page\u00a0:",
        "Una esquina doblada al pie de una página:",
        "Ett vikt hörn längst ned på en sida:",
    )
    folded_corner = Phrase(
        "here you turn. Beside it stand the bars or beats free before and after (V.S.: turn at once).",
        "hier wird gewendet. Daneben stehen die Takte oder Schläge, die davor und danach frei sind (V.S.: sofort "
        "wenden).",
        "ici on tourne. À côté figurent les mesures ou les temps libres avant et après (V.S.\u00a0: tourner vite).",
        "aquí se pasa la página. Al lado están los compases o tiempos libres antes y después (V.S.: pasar deprisa).",
        "här vänder du. Bredvid står takterna eller slagen som är lediga före och efter (V.S.: vänd genast).",
    )
    blank_lead = Sentence(
        "Page {page} is blank on purpose.",
        "Seite {page} ist mit Absicht leer.",
        "La page {page} est vierge à dessein.",
        "La página {page} está en blanco a propósito.",
        "Sida {page} är tom med avsikt.",
    )
    blank_turn = Sentence(
        "With it the turn comes after bar {bar}{grade}.",
        "Mit ihr wird nach Takt {bar} gewendet{grade}.",
        "Grâce à elle, on tourne après la mesure {bar}{grade}.",
        "Gracias a ella se pasa la página tras el compás {bar}{grade}.",
        "Med den kommer vändningen efter takt {bar}{grade}.",
    )
    blank_instead = Sentence(
        "Without it there would be one after bar {bar}{grade}.",
        "Ohne sie wäre nach Takt {bar} zu wenden{grade}.",
        "Sans elle, il faudrait tourner après la mesure {bar}{grade}.",
        "Sin ella habría que pasarla tras el compás {bar}{grade}.",
        "Utan den skulle det bli en efter takt {bar}{grade}.",
    )
    blank_forced = Phrase(
        "Without blank pages not all demands can be met.",
        "Ohne leere Seiten lassen sich nicht alle Forderungen erfüllen.",
        "Sans page vierge, toutes les demandes ne peuvent être satisfaites.",
        "Sin páginas en blanco no se pueden cumplir todas las exigencias.",
        "Utan tomma sidor kan inte alla krav uppfyllas.",
    )
    blank_better = Phrase(
        "Without it the set as a whole would be worse.",
        "Ohne sie wäre das Heft im Ganzen schlechter.",
        "Sans elle, l’ensemble serait moins bon.",
        "Sin ella el conjunto sería peor.",
        "Utan den skulle helheten bli sämre.",
    )
    blank_anyway = Phrase(
        "It moves a turn to a better place.",
        "Sie rückt das Wenden an eine bessere Stelle.",
        "Elle place mieux une tourne.",
        "Sitúa mejor una vuelta de página.",
        "Den flyttar en vändning till ett bättre ställe.",
    )
    small_notes_lead = Phrase(
        "Small notes:",
        "Kleine Noten:",
        "Petites notes\u00a0:",
        "Notas pequeñas:",
        "Små noter:",
    )
    small_notes = Sentence(
        "a staff of {staff}\u00a0mm is below {least}\u00a0mm and tires the eyes. Light the desk well, or ask "
        "for a larger staff.",
        "Ein Notensystem von {staff}\u00a0mm liegt unter {least}\u00a0mm und ermüdet die Augen. Beleuchten "
        "Sie das Pult gut, oder verlangen Sie ein größeres.",
        "une portée de {staff}\u00a0mm est inférieure à {least}\u00a0mm et fatigue les yeux. Éclairez bien "
        "le pupitre, ou demandez une portée plus grande.",
        "una pauta de {staff}\u00a0mm queda por debajo de {least}\u00a0mm y cansa la vista. Ilumine bien el "
        "atril o pida una mayor.",
        "ett notsystem på {staff}\u00a0mm är under {least}\u00a0mm och tröttar ögonen. Lys upp stället väl, "
        "eller begär ett större.",
    )
    small_notes_few_pages = Sentence(
        "a staff of {staff}\u00a0mm is below {least}\u00a0mm and tires the eyes. Light the desk well, or ask "
        "for a larger staff and more pages.",
        "Ein Notensystem von {staff}\u00a0mm liegt unter {least}\u00a0mm und ermüdet die Augen. Beleuchten "
        "Sie das Pult gut, oder verlangen Sie ein größeres und mehr Seiten.",
        "une portée de {staff}\u00a0mm est inférieure à {least}\u00a0mm et fatigue les yeux. Éclairez bien "
        "le pupitre, ou demandez une portée plus grande et plus de pages.",
        "una pauta de {staff}\u00a0mm queda por debajo de {least}\u00a0mm y cansa la vista. Ilumine bien el "
        "atril o pida una mayor y más páginas.",
        "ett notsystem på {staff}\u00a0mm är under {least}\u00a0mm och tröttar ögonen. Lys upp stället väl, "
        "eller begär ett större och fler sidor.",
    )
    narrow_desk_lead = Phrase(
        "A narrow desk:",
        "Ein schmales Pult:",
        "Un pupitre étroit\u00a0:",
        "Un atril estrecho:",
        "Ett smalt notställ:",
    )
    narrow_desk = Sentence(
        "two pages are {two} wide, the desk {desk}. Lay a board on it, or take smaller --paper.",
        "Zwei Seiten sind {two} breit, das Pult {desk}. Legen Sie ein Brett darauf, oder "
        "nehmen Sie kleineres --paper.",
        "deux pages font {two} de large, le pupitre {desk}. Posez une planche dessus, ou "
        "prenez un --paper plus petit.",
        "dos páginas miden {two} de ancho y el atril {desk}. Ponga una tabla encima o use un --paper menor.",
        "två sidor är {two} breda, stället {desk}. Lägg en skiva på det, eller ta mindre --paper.",
    )
    long_taped_lead = Phrase(
        "A long taped set:",
        "Ein langer geklebter Streifen:",
        "Une longue bande collée\u00a0:",
        "Una tira larga:",
        "En lång remsa:",
    )
    long_taped = Sentence(
        "{pages} in one strip can pull each other off a desk; in a ring binder the pairs stay where they are.",
        "{pages} in einem Streifen können einander vom Pult ziehen; in einem Ringordner bleiben die Paare, wo sie "
        "sind.",
        "{pages} en une bande peuvent s’entraîner hors du pupitre\u00a0; dans un classeur à anneaux, les paires "
        "restent en place.",
        "{pages} en una tira pueden arrastrarse unas a otras fuera del atril; en una carpeta de anillas los pares "
        "se quedan en su sitio.",
        "{pages} i en remsa kan dra varandra av notstället; i en ringpärm ligger paren kvar.",
    )
    too_wide_lead = Phrase(
        "Wider than the desk:",
        "Breiter als das Pult:",
        "Plus large que le pupitre\u00a0:",
        "Más ancho que el atril:",
        "Bredare än notstället:",
    )
    too_wide = Sentence(
        "with every fold-out open {pages} lie side by side, {width}, and the desk is {desk} wide.",
        "Sind alle Klappseiten offen, liegen {pages} nebeneinander, {width}; das Pult ist {desk} breit.",
        "tous les volets ouverts, {pages} sont côte à côte, {width}, et le pupitre fait {desk} de large.",
        "con todos los desplegables abiertos quedan {pages} lado a lado, {width}, y el atril mide "
        "{desk} de ancho.",
        "med alla utvik ute ligger {pages} bredvid varandra, {width}, och notstället är {desk} brett.",
    )
    tuck_once = Sentence(
        "So leave {last} folded in, and at the turn fold {first} in, turn, and fold {last} out: then no more than "
        "{most}, {most_width}, ever lie side by side.",
        "Lassen Sie darum {last} eingeklappt, und klappen Sie beim Wenden {first} ein, wenden Sie, und klappen Sie "
        "{last} aus: so liegen nie mehr als {most}, {most_width}, nebeneinander.",
        "Laissez donc en position repliée {last}, et au moment de tourner repliez {first}, tournez, puis dépliez "
        "{last}\u00a0: jamais plus de {most}, {most_width}, ne sont alors côte à côte.",
        "Deje por eso sin desplegar {last} y, al pasar, pliegue {first}, pase y despliegue {last}: así nunca quedan "
        "más de {most}, {most_width}, lado a lado.",
        "Låt därför {last} vara invikt, och vik vid vändningen in {first}, vänd och vik ut {last}: då ligger aldrig "
        "mer än {most}, {most_width}, bredvid varandra.",
    )
    tuck = Sentence(
        "So leave {last} folded in, fold {first} in at the first turn, before turning, and fold {last} out after the "
        "last turn: then no more than {most}, {most_width}, ever lie side by side.",
        "Lassen Sie darum {last} eingeklappt, klappen Sie {first} beim ersten Wenden ein, bevor Sie wenden, und {last} "
        "nach dem letzten Wenden aus: so liegen nie mehr als {most}, {most_width}, nebeneinander.",
        "Laissez donc en position repliée {last}, repliez {first} à la première tourne, avant de tourner, et dépliez "
        "{last} après la dernière\u00a0: jamais plus de {most}, {most_width}, ne sont alors côte à côte.",
        "Deje por eso sin desplegar {last}, pliegue {first} en la primera vuelta, antes de pasar, y despliegue {last} "
        "tras la última: así nunca quedan más de {most}, {most_width}, lado a lado.",
        "Låt därför {last} vara invikt, vik in {first} vid första vändningen, innan du vänder, och vik ut {last} efter "
        "den sista: då ligger aldrig mer än {most}, {most_width}, bredvid varandra.",
    )
    tuck_in_a_hurry = Sentence(
        "There is little time for it at {turns}: ask somebody to help, or lay the music out without fold-outs, with "
        "--desk stand.",
        "Dafür ist bei {turns} wenig Zeit: Lassen Sie sich helfen, oder legen Sie das Heft mit --desk stand ohne "
        "Klappseiten an.",
        "Le temps manque pour cela ({turns})\u00a0: faites-vous aider, ou demandez une disposition sans volets, avec "
        "--desk stand.",
        "En {turns} hay poco tiempo para ello: pida ayuda o disponga el juego sin desplegables, con --desk stand.",
        "Vid {turns} är det ont om tid för det: ta hjälp, eller lägg upp häftet utan utvik, med --desk stand.",
    )
    _named_turn = Sentence(
        "turn {turn}", "Wendestelle {turn}", "tourne {turn}", "la vuelta {turn}", "vändning {turn}"
    )
    _named_turns = Sentence(
        "turns {turns}",
        "den Wendestellen {turns}",
        "tournes {turns}",
        "las vueltas {turns}",
        "vändningarna {turns}",
    )
    missing_letters_lead = Phrase(
        "Missing letters:",
        "Fehlende Zeichen:",
        "Lettres manquantes\u00a0:",
        "Letras que faltan:",
        "Tecken som saknas:",
    )
    missing_letters = Sentence(
        "the text face has no sign for {letters}; look where they are missing and write them in.",
        "Die Schrift hat kein Zeichen für {letters}; sehen Sie nach, wo sie fehlen, und tragen Sie sie ein.",
        "la police n’a pas de signe pour {letters}\u00a0; cherchez où ils manquent et écrivez-les.",
        "el tipo de letra no tiene signo para {letters}; mire dónde faltan y escríbalos.",
        "typsnittet saknar tecken för {letters}; se efter var de fattas och skriv dit dem.",
    )
    and_more = Phrase("and more", "und mehr", "et d’autres", "y más", "med flera")
    copying_lead = Phrase(
        "Copying:",
        "Kopieren:",
        "Copie\u00a0:",
        "Copias:",
        "Kopiering:",
    )
    copying = Phrase(
        "whether this music may be copied and played depends on the law and the practice where you are. "
        "Contests and examinations often want to see an original.",
        "Ob diese Noten kopiert und gespielt werden dürfen, bestimmen Recht und Brauch bei Ihnen. "
        "Wettbewerbe und Prüfungen wollen oft ein Original sehen.",
        "la loi et l’usage de votre pays disent si cette musique peut être copiée et jouée. Concours et "
        "examens demandent souvent un original.",
        "la ley y la costumbre de su país dicen si esta música puede copiarse y tocarse. Los concursos y "
        "exámenes suelen pedir un original.",
        "lag och sed där du är avgör om noterna får kopieras och spelas. Tävlingar och prov vill ofta se ett "
        "original.",
    )

    # --- guide: putting the set together --------------------------------------------------------------------
    title_side = Phrase("title", "Titel", "titre", "título", "titel")
    notes_up = Phrase("notes up", "Noten oben", "notes dessus", "notas arriba", "noter upp")
    notes_down = Phrase("notes down", "Noten unten", "notes dessous", "notas abajo", "noter ned")
    sheets_left_right = Sentence(
        "left {left} · right {right}",
        "links {left} · rechts {right}",
        "gauche {left} · droite {right}",
        "izq. {left} · der. {right}",
        "vänster {left} · höger {right}",
    )
    assembling = Phrase(
        "Putting it together", "Zusammenbauen", "Assemblage", "Cómo se monta", "Så sätter du ihop det"
    )
    you_need = Phrase("You need", "Sie brauchen", "Il vous faut", "Se necesita", "Du behöver")
    need_paper = Sentence(
        "{sheets}, 90 to 118\u00a0g/m² (this guide reckons with {grammage}), matt, uncoated and opaque: "
        "gloss glares, thin paper curls and lets the next page show through.",
        "{sheets}, 90 bis 118\u00a0g/m² (hier gerechnet mit {grammage}), matt, ungestrichen und blickdicht: "
        "Glanz blendet, dünnes Papier rollt sich und lässt die nächste Seite durchscheinen.",
        "{sheets}, de 90 à 118\u00a0g/m² (ici compté {grammage}), mat, non couché et opaque\u00a0: le "
        "brillant éblouit, le papier mince s’enroule et laisse voir la page suivante.",
        "{sheets}, de 90 a 118\u00a0g/m² (aquí se cuenta con {grammage}), mate, sin estucar y opaco: el "
        "brillo deslumbra, el papel fino se enrolla y deja ver la página siguiente.",
        "{sheets}, 90 till 118\u00a0g/m² (här räknat med {grammage}), matt, obestruket och ogenomskinligt: "
        "blankt bländar, tunt papper rullar sig och låter nästa sida lysa igenom.",
    )
    # where nothing lies behind the page that could show through
    need_one_page = Sentence(
        "{sheets}, 90 to 118\u00a0g/m² (this guide reckons with {grammage}), matt and uncoated: gloss glares, thin "
        "paper curls.",
        "{sheets}, 90 bis 118\u00a0g/m² (hier gerechnet mit {grammage}), matt und ungestrichen: Glanz blendet, dünnes "
        "Papier rollt sich.",
        "{sheets}, de 90 à 118\u00a0g/m² (ici compté {grammage}), mat et non couché\u00a0: le brillant éblouit, le "
        "papier mince s’enroule.",
        "{sheets}, de 90 a 118\u00a0g/m² (aquí se cuenta con {grammage}), mate y sin estucar: el brillo deslumbra, el "
        "papel fino se enrolla.",
        "{sheets}, 90 till 118\u00a0g/m² (här räknat med {grammage}), matt och obestruket: blankt bländar, tunt "
        "papper rullar sig.",
    )
    nothing_to_make = Phrase(
        "There is nothing to fold, tape or staple.",
        "Es gibt nichts zu falten, zu kleben oder zu heften.",
        "Il n’y a rien à plier, à coller ni à agrafer.",
        "No hay nada que plegar, pegar ni grapar.",
        "Inget behöver vikas, tejpas eller häftas.",
    )
    need_tape = Sentence(
        "{strips} of matt tape, about {size}, for {seams}: three a seam, top, middle and bottom.",
        "{strips} mattes Klebeband, etwa {size}, für {seams}: drei je Naht, oben, in der Mitte und unten.",
        "{strips} de ruban adhésif mat, environ {size}, pour {seams}\u00a0: trois par joint, en "
        "haut, au milieu et en bas.",
        "{strips} de cinta adhesiva mate, de unos {size}, para {seams}: tres por junta, arriba, en "
        "medio y abajo.",
        "{strips} matt tejp, ungefär {size}, till {seams}: tre per skarv, upptill, i mitten och nedtill.",
    )
    need_tape_twice = Sentence(
        "{strips} of matt tape, about {size}, for {seams}: three a seam, top, middle and bottom, and "
        "as many on the other side, because the set has ten pages or more.",
        "{strips} mattes Klebeband, etwa {size}, für {seams}: drei je Naht, oben, in der Mitte und "
        "unten, und ebenso viele auf der anderen Seite, weil es zehn Seiten oder mehr sind.",
        "{strips} de ruban adhésif mat, environ {size}, pour {seams}\u00a0: trois par joint, en "
        "haut, au milieu et en bas, et autant sur l’autre face, car il y a dix pages ou plus.",
        "{strips} de cinta adhesiva mate, de unos {size}, para {seams}: tres por junta, arriba, en "
        "medio y abajo, y otras tantas por la otra cara, porque son diez páginas o más.",
        "{strips} matt tejp, ungefär {size}, till {seams}: tre per skarv, upptill, i mitten och "
        "nedtill, och lika många på andra sidan, eftersom det är tio sidor eller fler.",
    )
    strips = Counted("strip|strips", "Streifen|Streifen", "morceau|morceaux", "trozo|trozos", "bit|bitar")
    seams = Counted("seam|seams", "Naht|Nähte", "joint|joints", "junta|juntas", "skarv|skarvar")
    need_rings = Sentence(
        "A binder with rings of {ring} inside or a little more: the paper is {thickness} "
        "thick, and leaves turn freely in rings that are half empty.",
        "Einen Ordner mit Ringen von {ring} innen oder etwas mehr: das Papier ist "
        "{thickness} dick, und in halb leeren Ringen wenden die Blätter leicht.",
        "Un classeur à anneaux de {ring} à l’intérieur ou un peu plus\u00a0: le papier fait "
        "{thickness} d’épaisseur, et les feuilles tournent bien dans des anneaux à moitié vides.",
        "Una carpeta con anillas de {ring} por dentro o algo más: el papel tiene {thickness} "
        "de grueso y las hojas giran bien en anillas medio vacías.",
        "En pärm med ringar på {ring} inuti eller lite mer: papperet är {thickness} tjockt, "
        "och bladen vänder lätt i halvtomma ringar.",
    )
    need_volumes = Sentence(
        "{volumes} such binders: rings over 1\u00a0in (25\u00a0mm) turn badly, so split the set at a movement or an "
        "open turn.",
        "{volumes} solche Ordner: Ringe über 25\u00a0mm (1\u00a0Zoll) wenden schlecht; teilen Sie an einem "
        "Satzende oder einer bequemen Wendestelle.",
        "{volumes} classeurs de ce genre\u00a0: au-delà de 25\u00a0mm les anneaux tournent mal\u00a0; coupez "
        "à la fin d’un mouvement ou à une tourne large.",
        "{volumes} carpetas así: con anillas de más de 25\u00a0mm se pasa mal; corte al final de un "
        "movimiento o en una vuelta cómoda.",
        "{volumes} sådana pärmar: ringar över 25\u00a0mm vänder dåligt; dela vid ett satsslut eller en "
        "bekväm vändning.",
    )
    need_staples = Phrase(
        "Two staples and a long-arm stapler; or needle and strong thread.",
        "Zwei Heftklammern und einen Langarmhefter; oder Nadel und festen Faden.",
        "Deux agrafes et une agrafeuse à long bras\u00a0; ou une aiguille et du fil solide.",
        "Dos grapas y una grapadora de brazo largo; o aguja e hilo fuerte.",
        "Två häftklamrar och en långarmad häftapparat; eller nål och stark tråd.",
    )
    take_care_lead = Phrase(
        "Take care:",
        "Vorsicht:",
        "Attention\u00a0:",
        "Cuidado:",
        "Var försiktig:",
    )
    care_tape = Phrase(
        "cut away from yourself. Tape copies only, never an original: it harms the paper, and libraries "
        "forbid it.",
        "Schneiden Sie vom Körper weg. Nur Kopien kleben, nie ein Original: das schadet dem Papier, und "
        "Bibliotheken verbieten es.",
        "coupez en éloignant la lame de vous. Ne collez que des copies, jamais un original\u00a0: le papier "
        "en souffre, et les bibliothèques l’interdisent.",
        "corte alejando la hoja de su cuerpo. Pegue solo copias, nunca un original: daña el papel y las "
        "bibliotecas lo prohíben.",
        "skär bort från kroppen. Tejpa bara kopior, aldrig ett original: det skadar papperet, och bibliotek "
        "förbjuder det.",
    )
    care_staples = Phrase(
        "staples cut fingers; press their legs flat. Cut away from yourself. Staple or sew copies only, "
        "never an original.",
        "Heftklammern verletzen Finger; drücken Sie die Enden flach. Schneiden Sie vom Körper weg. Nur "
        "Kopien heften, nie ein Original.",
        "les agrafes blessent\u00a0; aplatissez leurs pointes. Coupez en éloignant la lame de vous. "
        "N’agrafez que des copies, jamais un original.",
        "las grapas cortan los dedos; aplaste las puntas. Corte alejando la hoja de su cuerpo. Grape solo "
        "copias, nunca un original.",
        "häftklamrar river fingrar; tryck ändarna platta. Skär bort från kroppen. Häfta bara kopior, aldrig "
        "ett original.",
    )
    care_punch = Phrase(
        "punch and tape copies only, never an original: libraries forbid it. No sleeves: they glare.",
        "Lochen und kleben Sie nur Kopien, nie ein Original: Bibliotheken verbieten es. Keine Hüllen: sie "
        "spiegeln.",
        "ne perforez et ne collez que des copies, jamais un original\u00a0: les bibliothèques l’interdisent. "
        "Pas de pochettes\u00a0: elles reflètent.",
        "perfore y pegue solo copias, nunca un original: las bibliotecas lo prohíben. Sin fundas: deslumbran.",
        "håla och tejpa bara kopior, aldrig ett original: bibliotek förbjuder det. Inga plastfickor: de "
        "bländar.",
    )
    valley = Phrase(
        "valley: printed sides come together",
        "Talfalte: Notenseiten aufeinander",
        "pli vallée\u00a0: faces imprimées l’une contre l’autre",
        "pliegue en valle: caras impresas juntas",
        "dalvik: notsidorna mot varandra",
    )
    mountain = Phrase(
        "mountain: white backs come together",
        "Bergfalte: weiße Rückseiten aufeinander",
        "pli montagne\u00a0: dos blancs l’un contre l’autre",
        "pliegue en monte: dorsos blancos juntos",
        "bergvik: de vita baksidorna mot varandra",
    )
    tinted_fold_out = Phrase(
        "tinted: fold-out",
        "getönt: Klappseite",
        "teinté\u00a0: volet",
        "gris: desplegable",
        "tonad: utvik",
    )
    sort_title = Phrase(
        "Lay the pages in order",
        "Seiten ordnen",
        "Ranger les pages",
        "Ordenar las páginas",
        "Ordna sidorna",
    )
    sort_strip = Phrase(
        "The whole set is one strip. Laid flat with the notes up it would look like this; it is put together "
        "folded, so it needs no more room than two pages.",
        "Das ganze Heft ist ein Streifen. Flach mit den Noten nach oben sähe es so aus; es wird gefaltet "
        "zusammengesetzt und braucht nur Platz für zwei Seiten.",
        "Le tout forme une bande. À plat, notes dessus, elle aurait cet aspect\u00a0; elle s’assemble pliée "
        "et ne demande que la place de deux pages.",
        "Todo el juego es una tira. Extendida, con las notas arriba, sería así; se monta plegada y solo "
        "ocupa el sitio de dos páginas.",
        "Hela häftet är en remsa. Utbredd med noterna upp skulle den se ut så här; den sätts ihop vikt och "
        "tar bara två sidors plats.",
    )
    sort_rings = Phrase(
        "Laid out with the notes up, the set looks like this: rings between the two pages of a spread, two "
        "pages back to back in each leaf.",
        "Mit den Noten nach oben ausgelegt sieht das Heft so aus: Ringe zwischen den zwei Seiten, die "
        "zusammen offen liegen, je zwei Seiten Rücken an Rücken als ein Blatt.",
        "Étalé, notes dessus, l’ensemble a cet aspect\u00a0: les anneaux entre les deux pages ouvertes "
        "ensemble, deux pages dos à dos pour chaque feuille.",
        "Extendido, con las notas arriba, el juego es así: anillas entre las dos páginas abiertas a la vez y "
        "dos páginas dorso con dorso en cada hoja.",
        "Utlagt med noterna upp ser häftet ut så här: ringar mellan de två sidor som ligger öppna ihop, två "
        "sidor rygg mot rygg i varje blad.",
    )
    title_onto = Sentence(
        "Do you want a title outside? Print page 1 of label.pdf onto the white back of page {page} now, heads at the "
        "same edge; or glue the label on later.",
        "Soll außen ein Titel stehen? Drucken Sie jetzt Seite 1 von label.pdf auf die weiße Rückseite von Seite "
        "{page}, oben an derselben Kante; oder kleben Sie später das Etikett auf.",
        "Vous voulez un titre dehors\u00a0? Imprimez maintenant la page 1 de label.pdf au dos blanc de la page "
        "{page}, le haut au même bord\u00a0; ou collez l’étiquette plus tard.",
        "¿Quiere un título por fuera? Imprima ahora la página 1 de label.pdf en el dorso blanco de la página {page}, "
        "con la cabeza en el mismo borde; o pegue después la etiqueta.",
        "Vill du ha en titel utanpå? Skriv nu ut sidan 1 av label.pdf på den vita baksidan av sida {page}, med "
        "överkanten åt samma håll; eller klistra på etiketten senare.",
    )
    title_on_top = Phrase(
        "Page 1 of label.pdf is a whole title page, to lay on top.",
        "Seite 1 von label.pdf ist eine ganze Titelseite, die obenauf kommt.",
        "La page 1 de label.pdf est une page de titre entière, à mettre dessus.",
        "La página 1 de label.pdf es una portada entera, para ponerla encima.",
        "Sidan 1 av label.pdf är en hel titelsida att lägga överst.",
    )
    fold_out_title = Sentence(
        "Fold-out: page {page}",
        "Klappseite: Seite {page}",
        "Volet\u00a0: page {page}",
        "Desplegable: página {page}",
        "Utvik: sida {page}",
    )
    tape_folded = Sentence(
        "Page {below} lies with its notes up. Lay page {above} on it, notes down, edges flush. Tape round "
        "the {edge} edge, from white back to white back.",
        "Seite {below} liegt mit den Noten oben. Legen Sie Seite {above} darauf, Noten unten, Kanten bündig. "
        "Kleben Sie um die {edge} Kante, von Rückseite zu Rückseite.",
        "La page {below} est posée notes dessus. Posez dessus la page {above}, notes dessous, bord à bord. "
        "Collez autour du bord {edge}, d’un dos blanc à l’autre.",
        "La página {below} está con las notas arriba. Ponga encima la página {above}, notas abajo, con los "
        "bordes alineados. Pegue alrededor del borde {edge}, de dorso a dorso.",
        "Sida {below} ligger med noterna upp. Lägg sida {above} på den, noterna ned, kant i kant. Tejpa runt "
        "{edge} kanten, från vit baksida till vit baksida.",
    )
    left_edge = Phrase("left", "linke", "gauche", "izquierdo", "vänstra")
    right_edge = Phrase("right", "rechte", "droit", "derecho", "högra")
    why_folded = Phrase(
        "Always hinge it folded like this: hinged while flat, the edges bind and it will not fold.",
        "Immer so gefaltet kleben: flach geklebt klemmen die Kanten, und sie lässt sich nicht einklappen.",
        "Collez-le toujours ainsi plié\u00a0: collé à plat, les bords coincent et il ne se plie plus.",
        "Péguelo siempre así, plegado: pegado en plano, los bordes se traban y no se pliega.",
        "Tejpa alltid så här, hopvikt: tejpad platt kärvar kanterna och den går inte att vika.",
    )
    open_again = Phrase(
        "Crease it well, then open it again.",
        "Gut falzen, dann wieder aufklappen.",
        "Marquez bien le pli, puis rouvrez.",
        "Marque bien el pliegue y vuelva a abrir.",
        "Pressa vecket väl och öppna igen.",
    )
    fold_back_under = Sentence(
        "Then fold page {outer} under page {inner}.",
        "Klappen Sie dann Seite {outer} unter Seite {inner}.",
        "Repliez ensuite la page {outer} sous la page {inner}.",
        "Pliegue después la página {outer} bajo la página {inner}.",
        "Vik sedan in sida {outer} under sida {inner}.",
    )
    fold_back_over = Sentence(
        "Then fold page {outer} over page {inner}.",
        "Klappen Sie dann Seite {outer} auf Seite {inner}.",
        "Repliez ensuite la page {outer} sur la page {inner}.",
        "Pliegue después la página {outer} sobre la página {inner}.",
        "Vik sedan sida {outer} över sida {inner}.",
    )
    pairs_title = Phrase(
        "Pairs: the inner edge",
        "Paare: die innere Kante",
        "Paires\u00a0: le bord intérieur",
        "Pares: el borde interior",
        "Par: innerkanten",
    )
    likewise = Sentence(
        "Likewise {pairs}.", "Ebenso {pairs}.", "De même {pairs}.", "Igual {pairs}.", "Likadant {pairs}."
    )
    leaves_title = Phrase(
        "Leaves: the outer edge",
        "Blätter: die äußere Kante",
        "Feuilles\u00a0: le bord extérieur",
        "Hojas: el borde exterior",
        "Blad: ytterkanten",
    )
    tape_flat = Sentence(
        "Pages {left} and {right} lie side by side, notes down, edges touching. Tape across the joint, then "
        "fold it: the white backs come together.",
        "Die Seiten {left} und {right} liegen nebeneinander, Noten unten, Kante an Kante. Kleben Sie über "
        "die Fuge und falten Sie dann: die weißen Rückseiten kommen aufeinander.",
        "Les pages {left} et {right} sont côte à côte, notes dessous, bord contre bord. Collez en travers du "
        "joint, puis pliez\u00a0: les dos blancs se rejoignent.",
        "Las páginas {left} y {right} están juntas, notas abajo, borde con borde. Pegue sobre la junta y "
        "luego pliegue: los dorsos blancos quedan juntos.",
        "Sidorna {left} och {right} ligger bredvid varandra, noterna ned, kant mot kant. Tejpa över skarven "
        "och vik sedan: de vita baksidorna möts.",
    )
    tape_again_title = Phrase(
        "Tape the other side too",
        "Auch die andere Seite kleben",
        "Coller aussi l’autre face",
        "Pegar también la otra cara",
        "Tejpa andra sidan också",
    )
    tape_again = Phrase(
        "Ten pages or more pull hard at their seams. Put three more strips on each seam from the other side: "
        "on the printed margins, clear of the notes, valleys opened flat, mountains folded.",
        "Zehn Seiten und mehr ziehen stark an den Nähten. Kleben Sie auf jede Naht drei weitere Streifen von "
        "der anderen Seite: auf den Notenrand, neben die Noten, Talfalten flach geöffnet, Bergfalten "
        "gefaltet.",
        "Dix pages ou plus tirent fort sur les joints. Collez trois morceaux de plus sur l’autre face de "
        "chaque joint\u00a0: dans la marge, hors des notes, plis vallée ouverts à plat, plis montagne fermés.",
        "Diez páginas o más tiran mucho de las juntas. Ponga otros tres trozos por la otra cara de cada "
        "junta: en el margen, sin tapar notas, los valles abiertos, los montes plegados.",
        "Tio sidor eller fler drar hårt i skarvarna. Sätt tre bitar till på andra sidan av varje skarv: i "
        "marginalen, utanför noterna, dalvik öppna och platta, bergvik hopvikta.",
    )
    punch_title = Phrase(
        "Punch the inner edges",
        "Innere Kanten lochen",
        "Perforer les bords intérieurs",
        "Perforar los bordes interiores",
        "Håla innerkanterna",
    )
    punch_right = Sentence(
        "Right pages ({pages}): at their left edge.",
        "Rechte Seiten ({pages}): am linken Rand.",
        "Pages de droite ({pages})\u00a0: au bord gauche.",
        "Páginas derechas ({pages}): por el borde izquierdo.",
        "Högersidor ({pages}): i vänstra kanten.",
    )
    punch_left = Sentence(
        "Left pages ({pages}): at their right edge.",
        "Linke Seiten ({pages}): am rechten Rand.",
        "Pages de gauche ({pages})\u00a0: au bord droit.",
        "Páginas izquierdas ({pages}): por el borde derecho.",
        "Vänstersidor ({pages}): i högra kanten.",
    )
    punch_no_fold_outs = Phrase(
        "Fold-outs get no holes: they hang outside the rings.",
        "Klappseiten bekommen keine Löcher: sie hängen außerhalb der Ringe.",
        "Les volets ne sont pas perforés\u00a0: ils pendent hors des anneaux.",
        "Los desplegables no se perforan: cuelgan fuera de las anillas.",
        "Utvik får inga hål: de hänger utanför ringarna.",
    )
    punch_template = Phrase(
        "The last sheet of this guide is a template.",
        "Das letzte Blatt dieser Anleitung ist eine Schablone.",
        "La dernière feuille de ce guide sert de gabarit.",
        "La última hoja de esta guía es una plantilla.",
        "Handledningens sista blad är en mall.",
    )
    rings_title = Phrase(
        "Put them on the rings",
        "Auf die Ringe legen",
        "Mettre sur les anneaux",
        "Poner en las anillas",
        "Sätt in på ringarna",
    )
    rings_closed = Phrase(
        "Closed, they lie on the rings like this, seen from the foot and drawn apart: grey marks the printed "
        "sides, the bends at the left are the rings.",
        "Geschlossen liegen sie so auf den Ringen, vom Fuß aus gesehen und auseinandergezogen: grau sind die "
        "Notenseiten, die Bögen links sind die Ringe.",
        "Fermé, voici leur ordre sur les anneaux, vu du bas et écarté\u00a0: le gris marque les faces "
        "imprimées, les courbes à gauche sont les anneaux.",
        "Cerrada, quedan así en las anillas, vistas desde el pie y separadas: el gris marca las caras "
        "impresas, las curvas de la izquierda son las anillas.",
        "I den stängda pärmen ligger de så här på ringarna, sett från foten och isärdraget: grått är de "
        "tryckta sidorna, bågarna till vänster är ringarna.",
    )
    corner_title = Phrase(
        "Crease the corners", "Ecken knicken", "Plier les coins", "Doblar las esquinas", "Vik hörnen"
    )
    corner_of_two = Sentence(
        "Bend the lower outer corner of every leaf that is turned ({leaves}) up along the dashes, both "
        "layers together: a finger then lifts one leaf, and only one.",
        "Knicken Sie bei jedem Blatt, das gewendet wird ({leaves}), die untere äußere Ecke an der "
        "Strichlinie hoch, beide Lagen zusammen: so hebt ein Finger ein Blatt und nur eines.",
        "Relevez, le long du tireté, le coin inférieur extérieur de chaque feuille à tourner ({leaves}), "
        "toutes épaisseurs ensemble\u00a0: un doigt soulève alors une feuille, une seule.",
        "Doble hacia arriba, por los guiones, la esquina inferior exterior de cada hoja que se pasa "
        "({leaves}), las dos capas a la vez: así un dedo levanta una hoja y solo una.",
        "Vik upp det nedre ytterhörnet längs strecken på varje blad som ska vändas ({leaves}), båda lagren "
        "ihop: då lyfter ett finger ett blad, och bara ett.",
    )
    corner = Sentence(
        "Bend the lower outer corner of every leaf that is turned ({leaves}) up along the dashes: a finger "
        "then lifts one leaf, and only one.",
        "Knicken Sie bei jedem Blatt, das gewendet wird ({leaves}), die untere äußere Ecke an der "
        "Strichlinie hoch: so hebt ein Finger ein Blatt und nur eines.",
        "Relevez, le long du tireté, le coin inférieur extérieur de chaque feuille à tourner "
        "({leaves})\u00a0: un doigt soulève alors une feuille, une seule.",
        "Doble hacia arriba, por los guiones, la esquina inferior exterior de cada hoja que se pasa "
        "({leaves}): así un dedo levanta una hoja y solo una.",
        "Vik upp det nedre ytterhörnet längs strecken på varje blad som ska vändas ({leaves}): då lyfter ett "
        "finger ett blad, och bara ett.",
    )
    packet_title = Phrase(
        "The folded packet",
        "Das gefaltete Paket",
        "Le paquet plié",
        "El paquete plegado",
        "Det hopvikta paketet",
    )
    packet_size = Sentence(
        "Folded, it is one page large and {layers} thick, seen here from its foot, drawn apart; grey marks "
        "the printed sides.",
        "Gefaltet ist es so groß wie eine Seite und {layers} dick, hier vom Fuß aus gesehen und "
        "auseinandergezogen; grau sind die Notenseiten.",
        "Plié, il a le format d’une page et l’épaisseur de {layers}\u00a0; on le voit ici par le bas, "
        "écarté\u00a0; le gris marque les faces imprimées.",
        "Plegado mide como una página y tiene el grosor de {layers}; aquí se ve desde el pie, separado; el "
        "gris marca las caras impresas.",
        "Hopvikt är det en sida stort och {layers} tjockt, här sett från foten och isärdraget; grått är de "
        "tryckta sidorna.",
    )
    outside_white = Phrase(
        "Both outsides are blank: the label goes on the front.",
        "Außen ist es beidseitig weiß: auf die Vorderseite kommt das Etikett.",
        "Les deux faces extérieures sont blanches\u00a0: l’étiquette va devant.",
        "Por fuera queda blanco: la etiqueta va delante.",
        "Utsidorna är vita: etiketten sätts fram.",
    )
    outside_front = Sentence(
        "Page {page} lies outside in front, the back is white: the label goes there.",
        "Vorne außen liegt Seite {page}, hinten ist es weiß: dorthin kommt das Etikett.",
        "La page {page} est dehors devant, le dos est blanc\u00a0: l’étiquette va là.",
        "La página {page} queda fuera delante, detrás es blanco: ahí va la etiqueta.",
        "Sida {page} ligger ytterst fram, baksidan är vit: där sätts etiketten.",
    )
    outside_back = Sentence(
        "The front is white, for the label; page {page} lies outside behind.",
        "Vorne ist es weiß, für das Etikett; hinten außen liegt Seite {page}.",
        "Le devant est blanc, pour l’étiquette\u00a0; la page {page} est dehors derrière.",
        "Delante es blanco, para la etiqueta; la página {page} queda fuera detrás.",
        "Framsidan är vit, för etiketten; sida {page} ligger ytterst bak.",
    )
    outside_both = Sentence(
        "Pages {front} and {back} lie outside: carry it in a folder, and put the label on that.",
        "Außen liegen die Seiten {front} und {back}: tragen Sie es in einer Mappe, mit dem Etikett darauf.",
        "Les pages {front} et {back} sont dehors\u00a0: portez le tout dans une chemise, avec l’étiquette "
        "dessus.",
        "Las páginas {front} y {back} quedan fuera: llévelo en una carpeta, con la etiqueta encima.",
        "Sidorna {front} och {back} ligger ytterst: bär det i en mapp, med etiketten på den.",
    )
    nest_title = Phrase(
        "Nest the folded sheets",
        "Gefaltete Bogen ineinanderlegen",
        "Emboîter les feuilles pliées",
        "Encajar los pliegos",
        "Lägg de vikta arken i varandra",
    )
    nest = Sentence(
        "{sheets}, each folded once. Each half carries two pages, outside / inside. Outermost, in front: "
        "{first}. The others go into it in this order.",
        "{sheets}, jedes einmal gefaltet. Jede Hälfte trägt zwei Seiten, außen / innen. Ganz außen, vorn: "
        "{first}. Die anderen kommen in dieser Folge hinein.",
        "{sheets}, pliées une fois. Chaque moitié porte deux pages, dehors / dedans. Tout dehors, "
        "devant\u00a0: {first}. Les autres y entrent dans cet ordre.",
        "{sheets}, dobladas una vez. Cada mitad lleva dos páginas, fuera / dentro. Por fuera, delante: "
        "{first}. Las demás entran por este orden.",
        "{sheets}, vart och ett vikt en gång. Varje halva bär två sidor, utsida / insida. Ytterst, fram: "
        "{first}. De andra läggs i det i denna ordning.",
    )
    fold_title = Phrase("Fold the sheet", "Bogen falten", "Plier la feuille", "Doblar el pliego", "Vik arket")
    fold_once = Phrase(
        "Once, in the middle. Each half carries two pages, outside / inside.",
        "Einmal, in der Mitte. Jede Hälfte trägt zwei Seiten, außen / innen.",
        "Une fois, au milieu. Chaque moitié porte deux pages, dehors / dedans.",
        "Una vez, por la mitad. Cada mitad lleva dos páginas, fuera / dentro.",
        "En gång, på mitten. Varje halva bär två sidor, utsida / insida.",
    )
    join_title = Phrase(
        "Join leaves to folded sheets",
        "Blätter zu Bogen verbinden",
        "Réunir les feuilles deux à deux",
        "Unir las hojas en pliegos",
        "Foga bladen till vikta ark",
    )
    join_two_title = Phrase(
        "Join the two leaves",
        "Die zwei Blätter verbinden",
        "Réunir les deux feuilles",
        "Unir las dos hojas",
        "Foga ihop de två bladen",
    )
    outside_first = Sentence(
        "Outside, in front: {first}.",
        "Außen, vorn: {first}.",
        "Dehors, devant\u00a0: {first}.",
        "Por fuera, delante: {first}.",
        "Utsidan, fram: {first}.",
    )
    join = Sentence(
        "Two leaves make one folded sheet. Lay leaf {above} on leaf {below} as drawn (upper side / lower "
        "side), edges flush, and tape round the {edge} edge.",
        "Zwei Blätter ergeben einen Bogen. Legen Sie Blatt {above} auf Blatt {below} wie gezeichnet "
        "(Oberseite / Unterseite), Kanten bündig, und kleben Sie um die {edge} Kante.",
        "Deux feuilles en font une double. Posez la feuille {above} sur la feuille {below} comme dessiné "
        "(dessus / dessous), bord à bord, et collez autour du bord {edge}.",
        "Dos hojas hacen un pliego. Ponga la hoja {above} sobre la hoja {below} como en el dibujo (cara "
        "superior / inferior), con los bordes alineados, y pegue alrededor del borde {edge}.",
        "Två blad blir ett vikt ark. Lägg blad {above} på blad {below} som på bilden (ovansida / undersida), "
        "kant i kant, och tejpa runt {edge} kanten.",
    )
    dash_is_blank = Phrase(
        "A dash is a blank side.",
        "Ein Strich ist eine leere Seite.",
        "Un tiret est une face vierge.",
        "Una raya es una cara en blanco.",
        "Ett streck är en tom sida.",
    )
    staple_title = Phrase(
        "Staple or sew the fold",
        "In der Falte heften oder nähen",
        "Agrafer ou coudre le pli",
        "Grapar o coser el pliegue",
        "Häfta eller sy i vecket",
    )
    staple = Phrase(
        "Open the nest, the outermost sheet upwards, and put two staples through the fold from outside, legs "
        "inside. Without a long arm: staple onto cardboard and bend the legs by hand, or sew through three "
        "holes in the fold and knot inside.",
        "Den Stapel öffnen, den äußersten Bogen oben, zwei Klammern von außen durch die Falte, Enden innen. "
        "Ohne Langarm: auf Pappe heften und die Enden umbiegen, oder durch drei Löcher in der Falte nähen "
        "und innen knoten.",
        "Ouvrez le tout, feuille extérieure dessus, et posez deux agrafes dans le pli par dehors, pointes "
        "dedans. Sans long bras\u00a0: agrafez sur du carton et rabattez les pointes, ou cousez par trois "
        "trous dans le pli, nœud dedans.",
        "Abra el conjunto, el pliego exterior arriba, y ponga dos grapas en el pliegue desde fuera, puntas "
        "dentro. Sin brazo largo: grape sobre cartón y doble las puntas, o cosa por tres agujeros del "
        "pliegue con el nudo dentro.",
        "Öppna bunten, det yttersta arket överst, och sätt två klamrar genom vecket utifrån, ändarna inåt. "
        "Utan lång arm: häfta mot kartong och vik ändarna, eller sy genom tre hål i vecket med knuten på "
        "insidan.",
    )
    pile_title = Phrase(
        "Pile the sheets",
        "Blätter stapeln",
        "Empiler les feuilles",
        "Apilar las hojas",
        "Lägg bladen i hög",
    )
    pile = Phrase(
        "In this order from the top, upper side / lower side. A clip holds them on the way; take it off to "
        "play.",
        "In dieser Folge von oben, Oberseite / Unterseite. Eine Klammer hält sie unterwegs; zum Spielen "
        "abnehmen.",
        "Dans cet ordre depuis le haut, dessus / dessous. Une pince les tient en route\u00a0; ôtez-la pour "
        "jouer.",
        "En este orden desde arriba, cara superior / inferior. Un clip las sujeta por el camino; quítelo "
        "para tocar.",
        "I denna ordning uppifrån, ovansida / undersida. Ett gem håller dem på vägen; ta bort det när du "
        "spelar.",
    )
    lay_out = Phrase(
        "Lay the sheets side by side in this order; nothing is turned.",
        "Legen Sie die Blätter in dieser Folge nebeneinander; gewendet wird nichts.",
        "Posez les feuilles côte à côte dans cet ordre\u00a0; rien n’est à tourner.",
        "Ponga las hojas una al lado de otra en este orden; no se pasa nada.",
        "Lägg bladen bredvid varandra i denna ordning; inget vänds.",
    )
    on_desk_title = Phrase("On the desk", "Auf dem Pult", "Sur le pupitre", "En el atril", "På notstället")
    on_desk = Phrase(
        "Seen from the foot of the pages: bold pages face you, the raised leaf is turned next. Below: sheets "
        "lying left and right.",
        "Vom Fuß der Seiten gesehen: fette Seiten liegen offen vor Ihnen, das gehobene Blatt wird als "
        "nächstes gewendet. Darunter: Blätter links und rechts.",
        "Vu du bas des pages\u00a0: les pages en gras vous font face, la feuille levée se tourne ensuite. "
        "Dessous\u00a0: feuilles à gauche et à droite.",
        "Visto desde el pie: las páginas en negrita están a la vista, la hoja levantada se pasa después. "
        "Debajo: hojas a la izquierda y a la derecha.",
        "Sett från sidornas fot: sidor i fetstil ligger framför dig, det lyfta bladet vänds härnäst. Under: "
        "blad till vänster och höger.",
    )
    on_desk_all = Phrase(
        "Seen from the foot of the pages: everything faces you at once, nothing is turned.",
        "Vom Fuß der Seiten gesehen: alles liegt zugleich offen vor Ihnen, gewendet wird nichts.",
        "Vu du bas des pages\u00a0: tout vous fait face en même temps, rien n’est à tourner.",
        "Visto desde el pie: todo está a la vista a la vez, no se pasa nada.",
        "Sett från sidornas fot: allt ligger framför dig på en gång, inget vänds.",
    )
    unfold_last = Sentence(
        "Before playing, open the set at its end, fold out {pages}, and turn back to the beginning.",
        "Vor dem Spielen am Ende aufschlagen, {pages} ausklappen und zum Anfang zurückblättern.",
        "Avant de jouer, ouvrez à la fin, dépliez {pages} et revenez au début.",
        "Antes de tocar, abra por el final, despliegue {pages} y vuelva al principio.",
        "Före spelet: slå upp slutet, vik ut {pages} och bläddra tillbaka till början.",
    )
    unfold_both = Sentence(
        "Before playing, open the set at its end, fold out {last}, turn back to the beginning, and fold out {first}.",
        "Vor dem Spielen am Ende aufschlagen, {last} ausklappen, zum Anfang zurückblättern und {first} ausklappen.",
        "Avant de jouer, ouvrez à la fin, dépliez {last}, revenez au début et dépliez {first}.",
        "Antes de tocar, abra por el final, despliegue {last}, vuelva al principio y despliegue {first}.",
        "Före spelet: slå upp slutet, vik ut {last}, bläddra tillbaka till början och vik ut {first}.",
    )
    unfold_first = Sentence(
        "Before playing, fold out {pages}.",
        "Vor dem Spielen {pages} ausklappen.",
        "Avant de jouer, dépliez {pages}.",
        "Antes de tocar, despliegue {pages}.",
        "Före spelet: vik ut {pages}.",
    )
    in_brackets = Phrase(
        "In brackets: fold-outs that lie out and are not being read.",
        "In Klammern: Klappseiten, die offen liegen und nicht gelesen werden.",
        "Entre parenthèses\u00a0: les volets ouverts qu’on ne lit pas.",
        "Entre paréntesis: desplegables abiertos que no se leen.",
        "Inom parentes: utvik som ligger ute och inte läses.",
    )
    unfolded_stay = Phrase(
        "Fold-outs stay out to the end (in brackets where they are not being read): nothing is folded while "
        "playing.",
        "Klappseiten bleiben bis zum Schluss offen (in Klammern, wo sie nicht gelesen werden): beim Spielen "
        "wird nichts geklappt.",
        "Les volets restent ouverts jusqu’à la fin (entre parenthèses quand on ne les lit pas)\u00a0: on ne "
        "plie rien en jouant.",
        "Los desplegables quedan abiertos hasta el final (entre paréntesis cuando no se leen): al tocar no "
        "se pliega nada.",
        "Utviken ligger ute till slutet (inom parentes där de inte läses): inget viks medan du spelar.",
    )
    template_title = Phrase(
        "Punching template",
        "Lochschablone",
        "Gabarit de perforation",
        "Plantilla de perforación",
        "Hålmall",
    )
    template = Phrase(
        "Print at 100\u00a0%. Lay this sheet on the pages, all edges flush, and pierce the centres of the "
        "holes; for left pages turn the template over.",
        "Mit 100\u00a0% drucken. Dieses Blatt bündig auf die Seiten legen und die Lochmitten durchstechen; "
        "für linke Seiten die Schablone umdrehen.",
        "Imprimez à 100\u00a0%. Posez cette feuille sur les pages, bord à bord, et percez le centre des "
        "trous\u00a0; pour les pages de gauche, retournez le gabarit.",
        "Imprima al 100\u00a0%. Ponga esta hoja sobre las páginas, con los bordes alineados, y pinche el "
        "centro de los agujeros; para las páginas izquierdas, dé la vuelta a la plantilla.",
        "Skriv ut i 100\u00a0%. Lägg bladet kant i kant på sidorna och stick igenom hålens mitt; vänd på "
        "mallen för vänstersidor.",
    )
    from_top = Sentence(
        "{length} from the top",
        "{length} von oben",
        "{length} du haut",
        "{length} desde arriba",
        "{length} uppifrån",
    )
    from_edge = Sentence(
        "centres {length} from the edge",
        "Mitten {length} vom Rand",
        "centres à {length} du bord",
        "centros a {length} del borde",
        "mitt {length} från kanten",
    )
    hole_wide = Sentence(
        "holes {length} wide",
        "Löcher {length} weit",
        "trous de {length}",
        "agujeros de {length}",
        "hål {length}",
    )
    this_edge = Phrase(
        "this edge to the rings",
        "diese Kante an die Ringe",
        "ce bord aux anneaux",
        "este borde a las anillas",
        "denna kant mot ringarna",
    )

    at_system = Sentence(
        "{page}, system {row}",
        "{page}, System {row}",
        "{page}, système {row}",
        "{page}, sistema {row}",
        "{page}, system {row}",
    )
    # In French and Spanish with the article, because these stand in sentences.
    _page_named = Sentence("page {page}", "Seite {page}", "la page {page}", "la página {page}", "sida {page}")
    _pages_named = Sentence(
        "pages {pages}", "Seiten {pages}", "les pages {pages}", "las páginas {pages}", "sidorna {pages}"
    )

    def hand_free(self, hand: str, seconds: str) -> str:
        """ "left hand free for 2.4 s"; of several hands in the plural."""
        named = self.hand(hand)
        say = self._hands_free if named == self.both_hands else self._hand_free
        return say(hand=named, seconds=seconds)

    def turns_named(self, names: Sequence[str]) -> str:
        """ "turn 2", "turns 1 and 2"."""
        return (
            self._named_turn(turn=names[0])
            if len(names) == 1
            else self._named_turns(turns=self.listed(names))
        )

    def pages_named(self, names: Sequence[str]) -> str:
        """ "page 8", "pages 8 and 9"."""
        if len(names) == 1:
            return self._page_named(page=names[0])
        return self._pages_named(pages=self.listed(names))


def guide_words(lang: Lang) -> GuideWords:
    """All texts in a language."""
    return GuideWords(lang)
