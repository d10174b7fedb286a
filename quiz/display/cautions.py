"""The cautions, in the words that every place shows."""

VOLUME = "Start with the volume low and turn it up until it is pleasant; lastbar never raises it."
LISTENING = (
    "Listening time: 80 dBA for 40 hours a week is the limit for grown-ups, and half the "
    "time for every 3 dB more (WHO-ITU H.870)."
)
HANDS = "Stop when hand or wrist hurts, and raise playing time gradually."

CAUTIONS = (VOLUME, LISTENING, HANDS)
