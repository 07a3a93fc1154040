"""The only writers of forecasts."""

from .forecasts import forecast_tonight, keep_forecasts, score_forecasts

__all__ = ["forecast_tonight", "keep_forecasts", "score_forecasts"]
