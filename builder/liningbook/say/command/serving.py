"""What the preview's server answers to what it does not serve, and what it lacks."""

from __future__ import annotations

OTHER_MACHINE = "This preview is only for browsers of this machine."
OTHER_SITE = "Another site may not read the preview."
NOTHING_HERE = "There is nothing here."
NO_WATCHER = "the watcher is missing. Install it with: pip install 'liningbook[preview]'"
