"""The words people write about absences (common practice, no source), and what they say."""

from __future__ import annotations

import re
from collections.abc import Iterable
from enum import Enum, StrEnum, auto

from drill.absences.core.availability import Said


class Kind(Enum):
    """What a piece of a phrase is."""

    DAY = auto()  # a date
    MONTH_DAY = auto()  # (month, day), its year unsaid
    MONTH = auto()
    WEEKDAY = auto()  # 0 is Monday
    NUMBER = auto()
    ORDINAL = auto()
    TIME = auto()
    CHANCE = auto()
    UNTIL = auto()
    TO = auto()  # a dash, or "to": an end where a day stands before it
    FROM = auto()
    SINCE = auto()
    BACK = auto()
    AFTER = auto()
    AND = auto()
    SAID = auto()
    DOUBT = auto()
    REASON = auto()
    SPAN = auto()  # "week", "weekend", "season"
    NEXT = auto()
    SEGMENT = auto()  # the name of a part of an event
    OPEN = auto()  # "until further notice"
    FROM_TODAY = auto()  # days from today: tomorrow is 1
    LENGTH = auto()  # days that one of these lasts, after a number
    FILLER = auto()
    UNKNOWN = auto()


class Reason(StrEnum):
    """Categories that a word names for certain; no more than that is ever kept."""

    HEALTH = "health"
    CLASS = "class"
    FAMILY = "family"
    TRAVEL = "travel"
    OTHER = "other"


Words = dict[str, tuple[Kind, object]]


def _all(kind: Kind, value: object, words: str) -> Iterable[tuple[str, tuple[Kind, object]]]:
    return ((word.strip(), (kind, value)) for word in words.split(","))


def _named(kind: Kind, names: str, first: int) -> Words:
    """Names of weekdays or months in their order, each with its short forms."""
    return {
        word: (kind, number)
        for number, forms in enumerate(names.split(","), first)
        for word in forms.split()
    }


VOCABULARY: Words = {
    **_named(
        Kind.WEEKDAY,
        "mon monday mondays,tue tues tuesday tuesdays,wed weds wednesday wednesdays,"
        "thu thur thurs thursday thursdays,fri friday fridays,sat saturday saturdays,"
        "sun sunday sundays",
        0,
    ),
    **_named(
        Kind.MONTH,
        "jan january,feb february,mar march,apr april,may,jun june,jul july,aug august,"
        "sep sept september,oct october,nov november,dec december",
        1,
    ),
    **_named(Kind.NUMBER, "one a an,two,three,four,five,six", 1),
}
for entries in (
    _all(Kind.UNTIL, None, "until,till,til,'til,thru,through,up to,ends,ending"),
    _all(Kind.TO, None, "to"),
    _all(Kind.FROM, None, "from,starting,beginning,starts"),
    _all(Kind.SINCE, None, "since"),
    _all(Kind.BACK, None, "back,returns,returning,return,be back,is back,comes back"),
    _all(Kind.AFTER, None, "after"),
    _all(Kind.AND, None, "and,or,then"),
    _all(
        Kind.SAID,
        Said.OUT,
        "out,gone,absent,away,missing,misses,miss,excused,not here,not there,not coming,"
        "not able to come,not be there,not be here,no show,can't come,cannot come,can't make it,"
        "cannot make it,cant make it,cant come,won't be there,won't be here,wont be there,"
        "won't make it,wont make it,unavailable,off,skip,skips,skipping,no,not attending,"
        "not able to attend,unable to attend,can't attend,cannot attend,won't attend,"
        "won't be at,wont be at,can't be there,cannot be there,signed out,sign out",
    ),
    _all(
        Kind.SAID,
        Said.LIMITED,
        "limited,not marching,no marching,can't march,cant march,cannot march,won't march,"
        "not march,can play,plays only,stands only,sideline only,watching only,playing only,"
        "light duty",
    ),
    _all(
        Kind.SAID,
        Said.LATE,
        "late,arrives,arriving,arrive,arriving late,coming late,comes late,tardy,delayed,"
        "running late,here at,there at,gets here,gets in",
    ),
    _all(
        Kind.SAID,
        Said.LEAVES,
        "leaves,leaving,leave,leaves early,leaving early,leave early,has to go,must go,out by,"
        "early out,out early,only until,only till,here until,here till,there until",
    ),
    _all(
        Kind.SAID,
        Said.IN,
        "in,in after all,coming after all,here after all,can come,can make it,will be there,"
        "will be here,available,able to come,not out,not late",
    ),
    _all(
        Kind.DOUBT,
        None,
        "maybe,might,may be,may miss,perhaps,possibly,possible,probably,prob,doubtful,unsure,"
        "not sure,tbd,tentative,questionable,iffy",
    ),
    _all(
        Kind.REASON,
        Reason.HEALTH,
        "sick,ill,illness,injured,injury,hurt,hurts,hurting,sore,sprained,flu,fever,covid,cold,doctor,doctors,doctor's,dr,"
        "doc,dentist,orthodontist,hospital,surgery,concussion,physical therapy,health,medical,"
        "ankle,knee,migraine,not feeling well,unwell,trainer,quarantine,quarantined",
    ),
    _all(
        Kind.REASON,
        Reason.CLASS,
        "class,classes,lab,labs,exam,exams,midterm,midterms,final exam,quiz,lecture,seminar,"
        "recitation,clinicals,student teaching",
    ),
    _all(
        Kind.REASON,
        Reason.FAMILY,
        "family,wedding,funeral,sister,brother,mom,dad,mother,father,grandma,grandpa,"
        "grandmother,grandfather,sister's,brother's,mom's,dad's,grandma's,grandpa's,cousin's",
    ),
    _all(
        Kind.REASON,
        Reason.OTHER,
        "work,works,working,job,interview,job interview,church,conflict,appt,appointment,"
        "meeting",
    ),
    _all(Kind.REASON, Reason.TRAVEL, "travel,traveling,trip,flight,out of town,vacation"),
    _all(Kind.SPAN, "week", "all week,this week,the week,the whole week,whole week,rest of week,"
         "rest of the week,week long"),
    _all(Kind.SPAN, "next week", "next week,all next week"),
    _all(Kind.SPAN, "weekend", "weekend,the weekend,this weekend,all weekend"),
    _all(Kind.SPAN, "season", "season,all season,rest of season,rest of the season,the season,"
         "for the year,rest of the year"),
    _all(Kind.NEXT, None, "next"),
    _all(Kind.SEGMENT, "pregame", "pregame,pre-game,pre game"),
    _all(Kind.SEGMENT, "halftime", "halftime,half-time,half time,half"),
    _all(Kind.SEGMENT, "postgame", "postgame,post-game,post game"),
    _all(Kind.SEGMENT, "1st half", "1st half,first half"),
    _all(Kind.SEGMENT, "2nd half", "2nd half,second half"),
    _all(Kind.SEGMENT, "parade", "parade"),
    _all(Kind.SEGMENT, "stands", "stands"),
    _all(Kind.SEGMENT, "duty", "duty"),
    _all(Kind.OPEN, None, "until further notice,till further notice,indefinitely,open,ufn,"
         "for now,no end date"),
    _all(Kind.FROM_TODAY, 0, "today,tonight,this evening,this afternoon"),
    _all(Kind.FROM_TODAY, 1, "tomorrow,tmrw,tmw,tomorrow night"),
    _all(Kind.LENGTH, 1, "day,days"),
    _all(Kind.LENGTH, 7, "week,weeks,wk,wks"),
    _all(
        Kind.FILLER,
        None,
        "the,is,are,will,be,being,at,on,by,of,has,have,had,for,due,because,his,her,hers,their,"
        "she,he,they,w,i,i'm,im,i'll,my,he's,she's,this,rehearsal,rehearsals,practice,band,game,"
        "all,day off,with,about,around,again,only,just,pls,please,sorry,early,again,all day,"
        "show,thing,plans,event,yet",
    ),
):  # fmt: skip
    VOCABULARY.update(entries)

PHRASES = re.compile(
    r"\b(?:"
    + "|".join(
        r"\s+".join(map(re.escape, phrase.split()))
        for phrase in sorted(VOCABULARY, key=len, reverse=True)
    )
    + r")\b\.?(?!')"
)
