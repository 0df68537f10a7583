"""The heavier model, available once its file was added: a second opinion for crossed or hidden legs."""

from __future__ import annotations

from cuebook.errors import PoseError
from cuebook.pose.mediapipe_graph import HEAVY, MediapipeSession, library_folder, library_version
from cuebook.pose.models import HEAVY_NAME, find_model


class MediapipeHeavy:
    """The same 33 landmarks at about three times the processor time; meets `PoseBackend`."""

    name = "mediapipe-heavy"

    @property
    def version(self) -> str:
        """Version of the wheel and the start of the model file's hash."""
        model = find_model(HEAVY_NAME)
        return library_version() if model is None else f"{library_version()}+{model.sha256[:12]}"

    def why_missing(self) -> str | None:
        """Return None if wheel and model are there, else a sentence."""
        if find_model(HEAVY_NAME) is None:
            return "The heavy pose model is not there: add its file with cuebook models add FILE."
        try:
            library_folder()
        except PoseError as missing:
            return str(missing)
        return None

    def open(self, *, alone: bool = False) -> MediapipeSession:
        """Start the graph with the model that was added.

        Parameters
        ----------
        alone : bool
            Whether this process does nothing else and may load the library in part.

        Raises
        ------
        PoseError
            If the wheel or the model file is missing.
        """
        model = find_model(HEAVY_NAME)
        if model is None:
            raise PoseError("The heavy pose model is not there: add its file with cuebook models add FILE.")
        return MediapipeSession(complexity=HEAVY, heavy_model=model.path, alone=alone)


BACKEND = MediapipeHeavy()
