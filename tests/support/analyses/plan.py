"""What tests of plan are made of."""

from __future__ import annotations

from tests.support.places import DEMO
from vibcal_nb.inputs.load_asset import find_asset_folders, load_asset_folder

SITE = {folder.asset.tag: folder for folder in map(load_asset_folder, find_asset_folders(DEMO))}
SHAKERS = SITE["STG-1"].equipment.shakers
