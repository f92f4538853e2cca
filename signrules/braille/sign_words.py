"""Ordinary English words that signs carry, which are no acronyms however they are printed.

From memory; words that are acronyms as well, such as IT, PET or CAT, and the shortest ones are not
among them.
"""

from __future__ import annotations

_LISTED = """
access accessible activity administration adult alarm alternative area arena assembly assistance
assistant assistive attendant auditorium authorized baby balcony bath bathroom bathrooms baths
battery bedroom bell bicycle bike bikes block board boiler book books boys break breakfast broom
building cafe cafeteria call canteen cars cashier ceiling changing chapel chemical child children
choir class classroom cleaner cleaning clinic clinical closed closet coat coats coffee collection
common community computer conference consultation control cook cool copy copying corridor counter
court courtyard crew custodial custodian dark data deck dental department desk diaper dining
director door doors down dressing drinking drive east electric electrical elevator elevators
emergency employee employees enter entrance entry equipment escalator exam examination exhibit exit
exits extinguisher family female file files fire first fitness floor food fountain freezer front
fuel furniture gallery game games garage garden gate general girls green ground guest guests
gymnasium hall hallway hand help high hose hotel hours house housekeeping infant information
inquiries interview janitor kitchen laboratory ladies lady laundry learning lecture left level
library lift lights linen listening living lobby locker lockers lost lounge lower luggage machine
mail main maintenance male mall management manager mechanical medical medicine meeting men mens
mezzanine mother mothers motor museum music news north number nurse nursery nurses nursing office
officer offices only open operating operator organ oxygen pantry paper parent parking parlor
parlour passage patient patients pharmacy phone phones photo physics piano place plan plant
platform play please police pool post power practice preparation press principal print printing
private public pull pump push quiet radio ramp reading rear reception recreation recycling refuge
registration rehearsal remote rescue research rest restricted restroom restrooms right risk roof
room rooms route safe safety school science screen seat seats second security self server service
services sewing shelter shop shops shower showers sick sign silent simulation sink smoke smoking
soap social soiled south staff stage stair stairs stairway stairwell station stop storage store
street student students studio study suite supplies supply surgery swimming switch table tank
teacher teachers team telephone theater theatre therapy third ticket tickets toilet toilets tool
tools tower toys training transformer transit trash treatment unisex upper usher utility valve
vault vending video visitor visitors voice waiting wardrobe warning wash washroom waste water way
welcome west wheelchair women womens wood work workroom workshop yard yoga youth
"""

SIGN_WORDS = frozenset(_LISTED.split())


def is_ordinary_word(word: str) -> bool:
    """Whether a word, in whatever case, is an ordinary one of signs."""
    # Raised text is in capitals throughout, so the case of a word says nothing.
    return word.casefold().strip("'’.,;:!?()") in SIGN_WORDS
