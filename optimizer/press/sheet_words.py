"""What stands on blank sides and on the test page, in five languages: `Words` with these texts.

In: a language.  Out: `SheetWords`.  Always true: as in optimizer/press/language.py, a text stands in all five
languages side by side with the same gaps in each.  Usage of each language is from memory.
"""

from dataclasses import dataclass

from optimizer.press.language import Phrase, Sentence, Words
from optimizer.settings import Printer


@dataclass(frozen=True)
class SheetWords(Words):
    """Texts of pages.pdf that are not music."""

    # --- sides without a number, in a viewer's list of pages ------------------------------------------------
    title_side = Phrase("title", "Titel", "titre", "título", "titel")

    # --- blank sides --------------------------------------------------------------------------------------
    left_blank = Sentence(
        "This page is left blank: the page turn comes after bar {bar}.",
        "Diese Seite bleibt leer: Gewendet wird nach Takt {bar}.",
        "Cette page reste vierge\u00a0: on tourne après la mesure {bar}.",
        "Esta página se deja en blanco: la página se pasa después del compás {bar}.",
        "Den här sidan är tom med avsikt: vändningen kommer efter takt {bar}.",
    )

    # --- carry strips -------------------------------------------------------------------------------------
    strip_late = Sentence(
        "next page: {bars}, printed again",
        "nächste Seite: {bars}, doppelt gedruckt",
        "page suivante\u00a0: {bars}, imprimé en double",
        "página siguiente: {bars}, por duplicado",
        "nästa sida: {bars}, tryckt två gånger",
    )
    strip_early = Sentence(
        "from the page before: {bars}, printed again",
        "von der vorigen Seite: {bars}, doppelt gedruckt",
        "page précédente\u00a0: {bars}, imprimé en double",
        "página anterior: {bars}, por duplicado",
        "förra sidan: {bars}, tryckt två gånger",
    )
    turn_late = Phrase(
        "turn after the small bars",
        "nach den kleinen Takten wenden",
        "tourner après les petites mesures",
        "pasar la página tras los compases pequeños",
        "vänd efter de små takterna",
    )
    turn_early = Sentence(
        "turn before bar {bar}: from there on printed again overleaf",
        "vor Takt {bar} wenden: von da an umseitig noch einmal",
        "tourner avant la mesure {bar}\u00a0: la suite est redonnée à la page suivante",
        "pasar la página antes del compás {bar}: lo que sigue se repite en la siguiente",
        "vänd före takt {bar}: därifrån tryckt igen på nästa sida",
    )

    # --- test page ----------------------------------------------------------------------------------------
    test_page = Phrase("Test page", "Testseite", "Page d’essai", "Página de prueba", "Provsida")
    test_first = Phrase(
        "Print this page alone before the others.",
        "Diese Seite allein drucken, vor den anderen.",
        "Imprimer cette page seule, avant les autres.",
        "Imprimir esta página sola, antes que las demás.",
        "Skriv ut den här sidan ensam, före de andra.",
    )
    choose = Sentence(
        "In the printer’s dialog choose: paper {paper}; scale 100\u00a0% (“actual size”, not “fit to page”); {sides}.",
        "Im Druckdialog wählen: Papier {paper}; Skalierung 100\u00a0% („Tatsächliche Größe“, nicht „An Seite "
        "anpassen“); {sides}.",
        "Dans la boîte de dialogue d’impression, choisir\u00a0: papier {paper}\u00a0; échelle 100\u00a0% "
        "(«\u00a0taille réelle\u00a0», non «\u00a0ajuster à la page\u00a0»)\u00a0; {sides}.",
        "En el cuadro de impresión, elegir: papel {paper}; escala 100\u00a0% («tamaño real», no «ajustar a la "
        "página»); {sides}.",
        "Välj i utskriftsdialogen: papper {paper}; skala 100\u00a0% (”verklig storlek”, inte ”anpassa till "
        "sidan”); {sides}.",
    )
    one_side = Phrase("one side only", "einseitig", "recto seul", "a una cara", "enkelsidigt")
    long_edge = Phrase(
        "both sides, flipped over the long edge",
        "beidseitig, über die lange Kante wenden",
        "recto verso, retourner sur le bord long",
        "a doble cara, girar por el borde largo",
        "dubbelsidigt, vänd längs långsidan",
    )
    short_edge = Phrase(
        "both sides, flipped over the short edge",
        "beidseitig, über die kurze Kante wenden",
        "recto verso, retourner sur le bord court",
        "a doble cara, girar por el borde corto",
        "dubbelsidigt, vänd längs kortsidan",
    )
    in_two_runs = Phrase(
        "one side, in two runs: first the odd pages, then the even ones on the backs",
        "einseitig in zwei Durchgängen: erst die ungeraden Seiten, dann die geraden auf die Rückseiten",
        "recto seul en deux passages\u00a0: d’abord les pages impaires, puis les paires au verso",
        "a una cara en dos pasadas: primero las páginas impares, luego las pares en el dorso",
        "enkelsidigt i två omgångar: först de udda sidorna, sedan de jämna på baksidorna",
    )
    measure = Sentence(
        "Then lay a ruler on both scales: each must be {length}\u00a0mm long. When they are not, the printer has "
        "scaled the page ({percent}\u00a0mm mean {percent}\u00a0%): look for a setting such as “fit”, “shrink” or "
        "“borderless”, switch it off, and print this page again.",
        "Dann ein Lineal an beide Maßstäbe legen: Jeder muss {length}\u00a0mm lang sein. Andernfalls hat der Drucker "
        "die Seite skaliert ({percent}\u00a0mm bedeuten {percent}\u00a0%): eine Einstellung wie „anpassen“, "
        "„verkleinern“ oder „randlos“ suchen und ausschalten, dann diese Seite noch einmal drucken.",
        "Poser ensuite une règle sur les deux échelles\u00a0: chacune doit mesurer {length}\u00a0mm. Sinon, "
        "l’imprimante a mis la page à l’échelle ({percent}\u00a0mm signifient {percent}\u00a0%)\u00a0: chercher un "
        "réglage tel que «\u00a0ajuster\u00a0», «\u00a0réduire\u00a0» ou «\u00a0sans marges\u00a0», le désactiver et "
        "imprimer de nouveau cette page.",
        "Después, poner una regla sobre las dos escalas: cada una debe medir {length}\u00a0mm. Si no es así, la "
        "impresora ha cambiado la escala ({percent}\u00a0mm significan {percent}\u00a0%): buscar un ajuste como "
        "«ajustar», «reducir» o «sin bordes», desactivarlo e imprimir otra vez esta página.",
        "Lägg sedan en linjal mot båda skalorna: var och en ska vara {length}\u00a0mm lång. Annars har skrivaren "
        "skalat om sidan ({percent}\u00a0mm betyder {percent}\u00a0%): leta efter en inställning som ”anpassa”, "
        "”förminska” eller ”kantlöst”, stäng av den och skriv ut den här sidan igen.",
    )
    frame = Sentence(
        "The thin frame stands {edge}\u00a0mm from the edges of the paper. Where a side of it is missing, your printer "
        "leaves more white: give a larger --unprintable, and --margins at least as wide.",
        "Der dünne Rahmen steht {edge}\u00a0mm vom Papierrand. Fehlt eine Seite davon, lässt der Drucker mehr Rand "
        "weiß: --unprintable größer angeben und --margins mindestens ebenso breit.",
        "Le cadre fin se trouve à {edge}\u00a0mm des bords du papier. S’il en manque un côté, l’imprimante laisse plus "
        "de blanc\u00a0: augmenter --unprintable, et donner à --margins au moins cette valeur.",
        "El marco fino está a {edge}\u00a0mm de los bordes del papel. Si falta uno de sus lados, la impresora deja más "
        "blanco: dar un valor mayor a --unprintable y al menos el mismo a --margins.",
        "Den tunna ramen står {edge}\u00a0mm från papperets kanter. Saknas en sida av den lämnar skrivaren mer vitt: "
        "ange ett större --unprintable och minst lika breda --margins.",
    )
    staff_here = Sentence(
        "The staves of this set are {staff}\u00a0mm high, like this one.",
        "Die Notensysteme dieses Hefts sind {staff}\u00a0mm hoch wie dieses.",
        "Les portées de cet ensemble ont {staff}\u00a0mm de haut, comme celle-ci.",
        "Los pentagramas de este juego miden {staff}\u00a0mm de alto, como este.",
        "Notsystemen i det här häftet är {staff}\u00a0mm höga, som detta.",
    )

    # --- warning ------------------------------------------------------------------------------------------
    narrow_margin_lead = Phrase(
        "A narrow margin:",
        "Ein schmaler Rand:",
        "Une marge étroite :",
        "Un margen estrecho:",
        "En smal marginal:",
    )
    narrow_margin = Sentence(
        "{margin} mm are less than the {edge} mm that the printer leaves white, and something may be cut off. "
        "Widen --margins, or lower --unprintable if the test page’s frame is whole.",
        "{margin} mm sind weniger als die {edge} mm, die der Drucker weiß lässt; es könnte etwas fehlen. "
        "--margins vergrößern, oder --unprintable verkleinern, wenn der Rahmen der Testseite ganz ist.",
        "{margin} mm sont moins que les {edge} mm que l’imprimante laisse blancs ; il peut manquer quelque "
        "chose. Élargir --margins, ou réduire --unprintable si le cadre de la page d’essai est entier.",
        "{margin} mm son menos que los {edge} mm que la impresora deja en blanco; puede faltar algo. Ampliar "
        "--margins, o reducir --unprintable si el marco de la página de prueba está entero.",
        "{margin} mm är mindre än de {edge} mm som skrivaren lämnar vita; något kan saknas. Öka --margins, "
        "eller minska --unprintable om provsidans ram är hel.",
    )

    def sides(self, printer: Printer, two_sided: bool) -> str:
        """What to choose for printing on one side or both; `two_sided`: whether the set has anything on backs."""
        return {
            Printer.SINGLE: self.in_two_runs if two_sided else self.one_side,
            Printer.LONG: self.long_edge,
            Printer.SHORT: self.short_edge,
        }[printer]
