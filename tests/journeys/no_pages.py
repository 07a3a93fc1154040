"""Addresses that answer to GET and are no page."""

#: Why each is not looked at.
NO_PAGE = {
    **dict.fromkeys(
        [
            "bookings/<int:pk>/calendar.ics",
            "calendar/<str:token>.ics",
            "classes/<str:reference>/calendar.ics",
            "classes/calendar.ics",
            "classes/with/<str:word>/calendar.ics",
        ],
        "a calendar, drawn by the program that reads it",
    ),
    "classes/atom.xml": "a feed, drawn by the program that reads it",
    "classes/rss.xml": "a feed, drawn by the program that reads it",
    "tables/<slug:what>.csv": "a table for a spreadsheet",
    "tablet/facts/": "words for the tablet's own script",
    "tablet/manifest.webmanifest": "what a tablet asks before it puts the page on its home screen",
    "tablet/worker.js": "a script",
    "up/": "words for a program",
}
