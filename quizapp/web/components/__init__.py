"""Geometry of the small drawings that stand in lists and sheets; their macros are in templates/components."""

from quizapp.web.components.order_map import OrderMap, order_map
from quizapp.web.components.scales import Axis, PlaceScale, countdown_axis, place_scale, tenure_axis

__all__ = ["Axis", "OrderMap", "PlaceScale", "countdown_axis", "order_map", "place_scale", "tenure_axis"]
