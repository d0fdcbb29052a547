"""Instruments and charts as geometry: values in, coordinates and words out; their macros draw them."""
