"""Names of the months, as loggers write them and as people read them."""

MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
_WRITTEN = (
    "jan january januar janv janvier ene enero gen gennaio januari",
    "feb february februar fév fev févr février febrero febbraio februari",
    "mar march mär mrz märz mars marzo maart mrt",
    "apr april avr avril abr abril aprile",
    "may mai mayo mag maggio mei maj",
    "jun june juni juin junio giu giugno",
    "jul july juli juil juillet julio lug luglio",
    "aug august août aoû ago agosto augustus",
    "sep sept september septembre septiembre set settembre",
    "oct october okt oktober octobre octubre ott ottobre",
    "nov november novembre noviembre",
    "dec december dez dezember déc décembre dic diciembre dicembre des desember",
)
_NUMBER_BY_NAME = {
    name: number for number, names in enumerate(_WRITTEN, 1) for name in names.split()
}


def month_number(name: str) -> int:
    """Give the number of a month from its name, 0 where it is none."""
    return _NUMBER_BY_NAME.get(name.casefold(), 0)
