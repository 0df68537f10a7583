"""Files that are no clip, or only a part of one: one sentence each."""

from __future__ import annotations

import wave
from pathlib import Path

import av
import cv2
import numpy as np
import pytest

from cuebook.clip import damage_warning, read_clip
from cuebook.clip.container import why_unreadable
from cuebook.errors import ClipError
from tests.clip_samples import number_in, picture, write_clip


def refusal(path: Path) -> str:
    with pytest.raises(ClipError) as caught:
        read_clip(path)
    message = str(caught.value)
    assert path.name in message
    assert "\n" not in message
    assert message.endswith(".")
    assert ". " not in message.replace(path.name, "")
    return message


def test_missing_folder_and_empty(tmp_path: Path) -> None:
    assert "no file" in refusal(tmp_path / "gone.mp4")
    (tmp_path / "set.mp4").mkdir()
    assert "is a folder" in refusal(tmp_path / "set.mp4")
    (tmp_path / "empty.mp4").touch()
    assert "0 bytes" in refusal(tmp_path / "empty.mp4")


@pytest.mark.parametrize("name", ["notes.txt", "notes.mp4", "notes.mov"])
@pytest.mark.parametrize(
    "text", ["Three sets of eight, slowly.\n" * 50, "#EXTM3U\n#EXT-X-VERSION:3\nhttp://a.example/b.ts\n"]
)
def test_text_under_any_name(tmp_path: Path, name: str, text: str) -> None:
    (tmp_path / name).write_text(text)
    assert "text file" in refusal(tmp_path / name)


def test_a_playlist_cannot_open_another_file(tmp_path: Path) -> None:
    write_clip(tmp_path / "real.mp4")
    (tmp_path / "list.mp4").write_text("ffconcat version 1.0\nfile real.mp4\n")
    assert "text file" in refusal(tmp_path / "list.mp4")


@pytest.mark.parametrize("kind", ["jpg", "png", "bmp", "webp", "tiff"])
@pytest.mark.parametrize("renamed", [False, True])
def test_still_pictures(tmp_path: Path, kind: str, renamed: bool) -> None:
    real = tmp_path / f"still.{kind}"
    assert cv2.imwrite(str(real), picture(3))
    path = real.rename(tmp_path / "still.mp4") if renamed else real
    assert "still picture" in refusal(path)


def test_sound_only(tmp_path: Path) -> None:
    path = tmp_path / "voice.m4a"
    with av.open(str(path), "w", format="mp4") as container:
        stream = container.add_stream("aac", rate=44_100)
        samples = (0.1 * np.sin(np.arange(44_100) / 20)).astype(np.float32)[None]
        frame = av.AudioFrame.from_ndarray(samples, format="fltp", layout="mono")
        frame.sample_rate, frame.pts = 44_100, 0
        container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    assert "only sound" in refusal(path)
    with wave.open(str(tmp_path / "voice.mp4"), "wb") as sound:
        sound.setparams((1, 2, 8000, 0, "NONE", ""))
        sound.writeframes(bytes(16_000))
    assert "only sound" in refusal(tmp_path / "voice.mp4")


def test_noise(tmp_path: Path) -> None:
    path = tmp_path / "noise.mp4"
    path.write_bytes(np.random.default_rng(1).bytes(20_000))
    assert "not a video" in refusal(path)


def test_no_index(tmp_path: Path) -> None:
    whole = write_clip(tmp_path / "whole.mp4").read_bytes()
    path = tmp_path / "cut.mp4"
    path.write_bytes(whole[: whole.index(b"moov") - 4])
    assert "index is missing" in refusal(path)


def test_too_short_and_single(tmp_path: Path) -> None:
    assert "lasts only 0.8 s" in refusal(write_clip(tmp_path / "short.mp4", frames=24))
    assert "single picture" in refusal(write_clip(tmp_path / "one.mp4", frames=1))
    assert read_clip(write_clip(tmp_path / "just.mp4", frames=30)).duration_s == pytest.approx(29 / 30, abs=1e-3)


def _index_first(path: Path, target: Path) -> bytes:
    with av.open(str(path)) as source, av.open(str(target), "w", options={"movflags": "faststart"}) as sink:
        stream = source.streams.video[0]
        copy = sink.add_stream_from_template(stream)
        for packet in source.demux(stream):
            if packet.size:
                packet.stream = copy
                sink.mux(packet)
    return target.read_bytes()


def test_a_clip_cut_off_in_the_middle_is_judged_as_far_as_it_goes(tmp_path: Path) -> None:
    whole = _index_first(write_clip(tmp_path / "raw.mp4", frames=180), tmp_path / "front.mp4")
    start = whole.index(b"mdat")
    path = tmp_path / "cut.mp4"
    path.write_bytes(whole[: start + (len(whole) - start) * 2 // 3])
    clip = read_clip(path)
    assert len(clip.warnings) == 1
    assert "is cut off" in clip.warnings[0]
    assert 2 < clip.duration_s < 5.5
    read = [number_in(image) for _, image in clip.frames()]
    assert read == list(range(len(read)))
    assert len(read) == len(clip.times_s)
    assert 110 <= len(read) <= 118
    path.write_bytes(whole[: start + (len(whole) - start) // 6])
    assert "are left" in refusal(path)


def test_damage_inside_ends_the_reading_quietly(tmp_path: Path) -> None:
    path = write_clip(tmp_path / "hurt.mp4", frames=180, key_every=20)
    with av.open(str(path)) as container:
        places = [p.pos for p in container.demux(container.streams.video[0]) if p.size]
    content = bytearray(path.read_bytes())
    for place in places[100:]:
        content[place : place + 60] = bytes([255]) * 60
    path.write_bytes(content)
    clip = read_clip(path)
    assert len(clip.times_s) == 180
    read = [number_in(image) for _, image in clip.frames()]
    assert 90 <= len(read) <= 104
    assert read == list(range(len(read)))
    sentence = damage_warning(clip, len(read))
    assert sentence is not None
    assert "is damaged after 3." in sentence
    assert "of 6.0 s" in sentence
    assert damage_warning(clip, 180) is None
    with pytest.raises(ClipError, match=r"only 1\.3 s of it can be decoded"):
        damage_warning(clip, 41)
    assert list(clip.frames(None, 150)) == []


def test_nothing_decodes(tmp_path: Path) -> None:
    path = write_clip(tmp_path / "void.mp4")
    with av.open(str(path)) as container:
        places = [(p.pos, p.size) for p in container.demux(container.streams.video[0]) if p.size]
    content = bytearray(path.read_bytes())
    for place, size in places:
        content[place : place + size] = bytes([255]) * size
    path.write_bytes(content)
    assert "Not one picture" in refusal(path)


def test_an_unknown_coding_is_named(tmp_path: Path) -> None:
    content = write_clip(tmp_path / "odd.mp4").read_bytes().replace(b"avc1", b"qqqq")
    (tmp_path / "odd.mp4").write_bytes(content)
    assert "convert it to H.264" in refusal(tmp_path / "odd.mp4")


def test_doubled_time_stamps_are_left_out(tmp_path: Path) -> None:
    ticks = [1000 * i for i in range(45)]
    path = write_clip(tmp_path / "twice.avi", ticks=ticks, codec="mpeg4")
    clip = read_clip(path)
    assert (np.diff(clip.times_s) > 0).all()
    assert [number_in(image) for _, image in clip.frames(None, 3, 6)] == [3, 4, 5]


def test_what_the_first_bytes_tell(tmp_path: Path) -> None:
    for head, words in ((b"ID3" + bytes(40), "only sound"), (b"GIF89a" + bytes(40), "still picture (GIF)")):
        path = tmp_path / "x.mp4"
        path.write_bytes(head)
        assert words in why_unreadable(path)
    path.write_bytes("Übung drei".encode() * 3)
    assert "text file" in why_unreadable(path)
