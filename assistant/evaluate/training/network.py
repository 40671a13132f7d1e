"""Whisper in torch, straight from CTranslate2's arrays and under their names, with a delta that can be trained.

What is trained: for every matrix of attention and feed-forward, and for the convolutions before them, two factors of
a low rank, and what is added to every bias and layer norm. The names are those of the file that the product reads, so
nothing is converted. On the encoder stands a small head that tells the sounds of English at every 20 ms; it is trained
from nothing.
"""

import math
from collections.abc import Mapping
from typing import Any, Final

import numpy as np
import torch
from torch import Tensor, nn
from torch.nn import functional

from assistant.hearing.delta import ADD, DOWN, UP, Model
from assistant.hearing.phone_head import SOUNDS

RANK: Final = 16
_CLASSES: Final = (
    40  # as many as phone_net has; importing it would want the grammar's libraries where only torch is
)
_HEAD_WIDTH, _HEAD_SPAN = 192, 5
_TRAINED: Final = ("/layer_", "layer_norm", "/conv")
_LATER: Final = (SOUNDS, "encoder/conv")
_SCALE: Final = 2.0
_EPSILON: Final = 1e-5


class Whisper(nn.Module):  # type: ignore[misc]
    """Whisper as a list of named arrays; only the delta has gradients."""

    def __init__(self, model: Model, rank: int = RANK) -> None:
        super().__init__()
        self.heads = int(model.arrays["encoder/num_heads"])
        self.layers = sum(
            name.startswith("encoder/layer_") and name.endswith("/ffn/linear_0/weight")
            for name in model.arrays
        )
        self._base: dict[str, Tensor] = {}
        self.delta = nn.ParameterDict()
        for name, array in model.arrays.items():
            if array.ndim == 0 or "alignment" in name:
                continue
            self._base[name] = torch.from_numpy(array.astype(np.float32))
            if not any(part in name for part in _TRAINED):
                continue
            if array.ndim > 1:
                down = torch.empty(rank, math.prod(array.shape[1:]))
                nn.init.kaiming_uniform_(down, a=5**0.5)
                self.delta[self._key(name + DOWN)] = nn.Parameter(down)
                self.delta[self._key(name + UP)] = nn.Parameter(torch.zeros(array.shape[0], rank))
            else:
                self.delta[self._key(name + ADD)] = nn.Parameter(torch.zeros(array.shape))
        self._add_head(self._base["encoder/layer_norm/gamma"].shape[0])
        self._now: dict[str, Tensor] = {}

    def _add_head(self, width: int) -> None:
        conv = nn.Conv1d(width, _HEAD_WIDTH, _HEAD_SPAN)
        out = nn.Linear(_HEAD_WIDTH, _CLASSES)
        for name, layer in (("conv", conv), ("out", out)):
            self.delta[self._key(f"{SOUNDS}{name}/weight")] = layer.weight
            self.delta[self._key(f"{SOUNDS}{name}/bias")] = layer.bias

    @staticmethod
    def _key(name: str) -> str:
        return name.replace("/", "|").replace(".", "_")

    def to_device(self, device: str) -> "Whisper":
        """Move everything there; the frozen arrays in bfloat16 where that is a GPU."""
        self._base = {name: tensor.to(device) for name, tensor in self._base.items()}
        self.to(device)
        return self

    def refresh(self) -> None:
        """Add the delta up; to be called once before each step."""
        self._now = {}
        for name, base in self._base.items():
            if (key := self._key(name + UP)) in self.delta:
                change = _SCALE * (self.delta[key] @ self.delta[self._key(name + DOWN)])
                self._now[name] = base + change.view_as(base)
            elif (key := self._key(name + ADD)) in self.delta:
                self._now[name] = base + self.delta[key]
            else:
                self._now[name] = base

    def kept(self) -> dict[str, np.ndarray[Any, Any]]:
        """Give the delta as it is kept: float16, the scale within."""
        out = {}
        for key, value in self.delta.items():
            array = value.detach().float().cpu().numpy()
            out[key.replace("|", "/")] = (array * _SCALE if key.endswith(UP) else array).astype(np.float16)
        return out

    def load(self, kept: Mapping[str, np.ndarray[Any, Any]]) -> None:
        """Go on from a delta that was kept, of this rank; older ones have no head, or no convolutions."""
        with torch.no_grad():
            for key, value in self.delta.items():
                name = key.replace("|", "/")
                if name not in kept and name.startswith(_LATER):
                    continue
                array = torch.from_numpy(kept[name].astype(np.float32)).to(value.device)
                value.copy_(array / _SCALE if key.endswith(UP) else array)

    def encode(self, mels: Tensor) -> Tensor:
        """Encode log-mels (n, 80, frames) into (n, frames / 2, width)."""
        hidden = functional.gelu(self._conv(mels, "encoder/conv1", 1))
        hidden = functional.gelu(self._conv(hidden, "encoder/conv2", 2)).transpose(1, 2)
        hidden = hidden + self._now["encoder/position_encodings/encodings"][: hidden.shape[1]]
        for layer in range(self.layers):
            hidden = hidden + self._self(hidden, f"encoder/layer_{layer}", causal=False)
            hidden = hidden + self._ffn(hidden, f"encoder/layer_{layer}/ffn")
        return self._norm(hidden, "encoder/layer_norm")

    def sounds(self, sound: Tensor) -> Tensor:
        """Give the log probabilities (n, frames, 40) of the blank and of each sound in what was encoded."""
        weight, bias = (self.delta[self._key(f"{SOUNDS}conv/{name}")] for name in ("weight", "bias"))
        hidden = functional.conv1d(sound.transpose(1, 2), weight, bias, padding=_HEAD_SPAN // 2)
        weight, bias = (self.delta[self._key(f"{SOUNDS}out/{name}")] for name in ("weight", "bias"))
        return (
            functional.linear(functional.gelu(hidden).transpose(1, 2), weight, bias).float().log_softmax(-1)
        )

    def decode(self, tokens: Tensor, sound: Tensor) -> Tensor:
        """Give the hidden state (n, length, width) after each token; see `logits`."""
        hidden = self._now["decoder/embeddings/weight"][tokens]
        hidden = hidden + self._now["decoder/position_encodings/encodings"][: tokens.shape[1]]
        for layer in range(self.layers):
            name = f"decoder/layer_{layer}"
            hidden = hidden + self._self(hidden, name, causal=True)
            hidden = hidden + self._cross(hidden, sound, f"{name}/attention")
            hidden = hidden + self._ffn(hidden, f"{name}/ffn")
        return self._norm(hidden, "decoder/layer_norm")

    def logits(self, hidden: Tensor) -> Tensor:
        """Give the logits over all tokens."""
        return functional.linear(hidden, self._now["decoder/embeddings/weight"])

    def _conv(self, sound: Tensor, name: str, stride: int) -> Tensor:
        weight, bias = self._now[f"{name}/weight"], self._now[f"{name}/bias"]
        return functional.conv1d(sound, weight, bias, stride=stride, padding=1)

    def _linear(self, hidden: Tensor, name: str) -> Tensor:
        return functional.linear(hidden, self._now[f"{name}/weight"], self._now[f"{name}/bias"])

    def _norm(self, hidden: Tensor, name: str) -> Tensor:
        gamma, beta = self._now[f"{name}/gamma"], self._now[f"{name}/beta"]
        return functional.layer_norm(hidden, gamma.shape, gamma, beta, _EPSILON)

    def _ffn(self, hidden: Tensor, name: str) -> Tensor:
        inner = functional.gelu(self._linear(self._norm(hidden, f"{name}/layer_norm"), f"{name}/linear_0"))
        return self._linear(inner, f"{name}/linear_1")

    def _self(self, hidden: Tensor, layer: str, *, causal: bool) -> Tensor:
        name = f"{layer}/self_attention"
        parts = self._linear(self._norm(hidden, f"{name}/layer_norm"), f"{name}/linear_0").chunk(3, dim=-1)
        return self._linear(self._attended(*parts, causal=causal), f"{name}/linear_1")

    def _cross(self, hidden: Tensor, sound: Tensor, name: str) -> Tensor:
        asked = self._linear(self._norm(hidden, f"{name}/layer_norm"), f"{name}/linear_0")
        keys, values = self._linear(sound, f"{name}/linear_1").chunk(2, dim=-1)
        return self._linear(self._attended(asked, keys, values, causal=False), f"{name}/linear_2")

    def _attended(self, asked: Tensor, keys: Tensor, values: Tensor, *, causal: bool) -> Tensor:
        count, length, width = asked.shape
        heads = (
            part.view(count, -1, self.heads, width // self.heads).transpose(1, 2)
            for part in (asked, keys, values)
        )
        out = functional.scaled_dot_product_attention(*heads, is_causal=causal)
        return out.transpose(1, 2).reshape(count, length, width)
