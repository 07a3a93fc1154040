from importlib import import_module

from django.apps import AppConfig

AREAS_WITH_WORDS = ["journal", "people", "stations", "safety", "bookings", "classes", "chemistry", "desk", "upkeep"]


class StudiodeskConfig(AppConfig):
    name = "studiodesk"
    verbose_name = "Studio desk"

    def ready(self) -> None:
        import_module("studiodesk.checks")
        for area in AREAS_WITH_WORDS:
            try:
                import_module(f"studiodesk.{area}.words")
            except ModuleNotFoundError as missing:
                if missing.name != f"studiodesk.{area}.words":
                    raise
