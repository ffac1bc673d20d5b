"""A video of a card's back for a browser's fake camera: a file of JPEG pictures one after the other (MJPEG).

Chromium plays it with --use-file-for-fake-video-capture=FILE.mjpeg as long as the camera is open.
"""

from pathlib import Path

from tests.test_barcodes import photograph

FRAMES = 6


def write(file: Path) -> Path:
    """The video in a file: the card held a little askew, in the light of a shop."""
    file.write_bytes(b"".join(photograph(2.0 + number / 4, 0.7, 2, "even", seed=number) for number in range(FRAMES)))
    return file
