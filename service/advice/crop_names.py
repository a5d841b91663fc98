"""Crops as a caller hears them: the order of the menu, the name in plain words, other names.

Names stand here and not in the table of the core, because they are words for people and go
through the catalogue. The first ones of the list are those asked for most (common practice, no
source); every crop can be named instead of numbered.
"""

from __future__ import annotations

from service.phrases import N_

CROP_NAMES: dict[str, tuple[str, tuple[str, ...]]] = {
    "tomato": (N_("Tomato"), ("tomatoes",)),
    "onion": (N_("Onion"), ("onions", "bulb onion")),
    "cabbage": (N_("Cabbage"), ("cabbages",)),
    "kale": (N_("Kale"), ("collards", "leafy cabbage")),
    "sweet_pepper": (N_("Sweet pepper"), ("pepper", "bell pepper", "capsicum")),
    "chilli": (N_("Chilli"), ("chili", "hot pepper")),
    "okra": (N_("Okra"), ("lady finger", "gumbo")),
    "eggplant": (N_("Eggplant"), ("aubergine", "brinjal", "garden egg")),
    "watermelon": (N_("Watermelon"), ("water melon",)),
    "cucumber": (N_("Cucumber"), ("cucumbers",)),
    "green_bean": (N_("Green bean"), ("beans", "french bean")),
    "spinach": (N_("Spinach"), ("chard",)),
    "amaranth": (N_("Amaranth"), ("leaf amaranth",)),
    "lettuce": (N_("Lettuce"), ("salad",)),
    "carrot": (N_("Carrot"), ("carrots",)),
    "potato": (N_("Potato"), ("potatoes", "irish potato")),
    "sweet_potato": (N_("Sweet potato"), ("sweet potatoes",)),
    "sweet_maize": (N_("Green maize"), ("sweet corn", "green cobs")),
    "maize": (N_("Maize"), ("corn",)),
    "pumpkin": (N_("Pumpkin"), ("squash",)),
    "zucchini": (N_("Zucchini"), ("courgette",)),
    "melon": (N_("Melon"), ("sweet melon",)),
    "green_onion": (N_("Spring onion"), ("green onion",)),
    "garlic": (N_("Garlic"), ()),
    "cauliflower": (N_("Cauliflower"), ()),
    "broccoli": (N_("Broccoli"), ()),
    "beetroot": (N_("Beetroot"), ("beets",)),
    "celery": (N_("Celery"), ()),
    "radish": (N_("Radish"), ()),
    "dry_bean": (N_("Dry bean"), ("kidney bean",)),
    "pea": (N_("Pea"), ("peas",)),
    "cowpea": (N_("Cowpea"), ("green gram", "mung bean")),
    "groundnut": (N_("Groundnut"), ("peanut",)),
    "soybean": (N_("Soybean"), ("soya",)),
    "cassava": (N_("Cassava"), ("manioc",)),
    "sunflower": (N_("Sunflower"), ()),
    "cotton": (N_("Cotton"), ()),
    "strawberry": (N_("Strawberry"), ("strawberries",)),
    "banana": (N_("Banana, young"), ("banana first year",)),
    "banana_grown": (N_("Banana, grown"), ("plantain",)),
    "papaya": (N_("Papaya"), ("pawpaw",)),
    "pineapple": (N_("Pineapple"), ()),
    "mango": (N_("Mango"), ("mangoes",)),
    "avocado": (N_("Avocado"), ()),
    "citrus": (N_("Citrus, grown"), ("orange", "lemon")),
    "citrus_half": (N_("Citrus, half grown"), ()),
    "citrus_young": (N_("Citrus, young"), ()),
    "coffee": (N_("Coffee"), ()),
    "grape": (N_("Grape"), ("grapes", "vine")),
}
