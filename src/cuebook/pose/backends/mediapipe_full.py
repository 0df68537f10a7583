"""The full model that comes with the MediaPipe wheel: the default."""

from __future__ import annotations

from cuebook.errors import PoseError
from cuebook.pose.mediapipe_graph import FULL, MediapipeSession, library_folder, library_version


class MediapipeFull:
    """33 landmarks at about 30 ms of processor a picture; meets `PoseBackend`."""

    name = "mediapipe-full"

    @property
    def version(self) -> str:
        """Version of the wheel, which carries graph and model."""
        return library_version()

    def why_missing(self) -> str | None:
        """Return None if the wheel and its models are there, else a sentence."""
        try:
            library_folder()
        except PoseError as missing:
            return str(missing)
        return None

    def open(self, *, alone: bool = False) -> MediapipeSession:
        """Start the graph.

        Parameters
        ----------
        alone : bool
            Whether this process does nothing else and may load the library in part.

        Raises
        ------
        PoseError
            If the wheel or a model file is missing.
        """
        return MediapipeSession(complexity=FULL, alone=alone)


BACKEND = MediapipeFull()
