"""Runs an ONNX graph with PyTorch, so that Kokoro speaks on a GPU: only the operators that its file uses.

The file's matrices are 8 bit, and every layer would round its input to 8 bit too. Here only the matrices stay rounded:
`DynamicQuantizeLinear` passes its input on with a scale of one, and the layers after it reckon in float32.
"""

import numpy as np
import onnx
import torch
import torch.nn.functional as F
from onnx import numpy_helper

KINDS = {1: torch.float32, 6: torch.float32, 7: torch.int64, 9: torch.bool}  # 6, int32, is only met where a bias is rounded


def paired(function):
    """For two values of which one may lie on the CPU."""

    def apply(node, a, b):
        if a.device != b.device:
            device = a.device if a.is_cuda else b.device
            a, b = a.to(device), b.to(device)
        return function(a, b)

    return apply


def softened(axes):
    return None if axes is None else tuple(axes.tolist())


class Graph:
    """A model, ready to run on a device. Whole numbers (shapes, places) stay on the CPU."""

    def __init__(self, path, device):
        graph = onnx.load(path).graph
        self.device, self.cache = device, {}
        self.inputs = [slot.name for slot in graph.input]
        self.output = graph.output[0].name
        self.constants = {}
        for tensor in graph.initializer:
            value = torch.from_numpy(np.array(numpy_helper.to_array(tensor)))
            self.constants[tensor.name] = value.to(device) if value.is_floating_point() or value.numel() > 4096 else value
        self.nodes = []
        last = {}
        for place, node in enumerate(graph.node):
            attributes = {a.name: onnx.helper.get_attribute_value(a) for a in node.attribute}
            node_of = Node(node.op_type, list(node.input), list(node.output), attributes)
            self.nodes.append((getattr(self, "op_" + node.op_type.lower()), node_of))
            last.update({name: place for name in node.input})
        self.dropped = [[] for _ in self.nodes]
        for name, place in last.items():
            if name not in self.constants:
                self.dropped[place].append(name)

    @torch.no_grad()
    def run(self, _, given):
        """As onnxruntime's session: names to arrays; the one output, in a list."""
        values = {"": None}
        for name, array in given.items():
            value = torch.from_numpy(np.asarray(array))
            values[name] = value.to(self.device) if value.is_floating_point() else value
        for (operator, node), dropped in zip(self.nodes, self.dropped):
            arguments = [values[name] if name in values else self.constants[name] for name in node.inputs]
            found = operator(node, *arguments)
            if isinstance(found, (list, tuple)):
                values.update(zip(node.outputs, found))
            else:
                values[node.outputs[0]] = found
            for name in dropped:
                if name:
                    values.pop(name, None)
        return [values[self.output].cpu().numpy()]

    def get_inputs(self):
        return [Slot(name) for name in self.inputs]

    # Arithmetic.

    op_add = staticmethod(paired(torch.add))
    op_sub = staticmethod(paired(torch.sub))
    op_mul = staticmethod(paired(torch.mul))
    op_pow = staticmethod(paired(torch.pow))
    op_and = staticmethod(paired(torch.logical_and))
    op_equal = staticmethod(paired(torch.eq))
    op_greater = staticmethod(paired(torch.gt))
    op_greaterorequal = staticmethod(paired(torch.ge))
    op_less = staticmethod(paired(torch.lt))

    def op_div(self, node, a, b):
        whole = not a.is_floating_point() and not b.is_floating_point()
        return paired(lambda a, b: torch.div(a, b, rounding_mode="trunc" if whole else None))(node, a, b)

    def op_atan(self, node, x):
        return x.nan_to_num(0.0).atan()  # silence has no phase

    def op_cos(self, node, x):
        return x.cos()

    def op_sin(self, node, x):
        return x.sin()

    def op_exp(self, node, x):
        return x.exp()

    def op_sqrt(self, node, x):
        return x.sqrt()

    def op_sigmoid(self, node, x):
        return x.sigmoid()

    def op_tanh(self, node, x):
        return x.tanh()

    def op_round(self, node, x):
        return x.round()

    def op_floor(self, node, x):
        # Every floor but the generator's own rounds a bias to whole steps, which are too coarse here.
        return x if "bias" in node.outputs[0] else x.floor()

    def op_leakyrelu(self, node, x):
        return F.leaky_relu(x, node.attributes["alpha"])

    def op_fastgelu(self, node, x, bias):
        return F.gelu(x + bias, approximate="tanh")

    def op_clip(self, node, x, low, high):
        return x.clamp(None if low is None else low.item(), None if high is None else high.item())

    def op_softmax(self, node, x):
        return x.softmax(node.attributes["axis"])

    def op_where(self, node, condition, a, b):
        devices = [value.device for value in (condition, a, b)]
        device = next((device for device in devices if device.type == "cuda"), devices[0])
        return torch.where(condition.to(device), a.to(device), b.to(device))

    def op_cumsum(self, node, x, axis):
        return x.cumsum(int(axis))

    def op_reducemean(self, node, x, axes):
        return x.mean(softened(axes), keepdim=bool(node.attributes["keepdims"]))

    def op_reducesum(self, node, x, axes=None):
        return x.sum(softened(axes), keepdim=bool(node.attributes["keepdims"])) if axes is not None else x.sum()

    def op_layernormalization(self, node, x, weight, bias):
        return F.layer_norm(x, weight.shape, weight, bias, node.attributes["epsilon"])

    def op_skiplayernormalization(self, node, x, skip, weight, bias):
        return F.layer_norm(x + skip, weight.shape, weight, bias, node.attributes["epsilon"])

    # Matrices.

    op_matmul = staticmethod(paired(torch.matmul))

    def op_fusedmatmul(self, node, a, b):
        return a.transpose(-1, -2) @ b.to(a.device)

    def op_dynamicquantizelinear(self, node, x):
        return x, torch.ones((), device=x.device), torch.zeros((), dtype=torch.uint8)

    def op_dequantizelinear(self, node, x, scale, zero):
        return (x.to(self.device).float() - zero.to(self.device).float()) * scale

    def float_of(self, node, matrix, zero, shape=None):
        """The matrix without its zero point, reckoned once."""
        key = node.outputs[0]
        if key not in self.cache:
            zero = zero.to(self.device).float()
            self.cache[key] = matrix.to(self.device).float() - (zero.reshape(shape) if shape and zero.numel() > 1 else zero)
        return self.cache[key]

    def op_matmulinteger(self, node, x, matrix, _, zero):
        return x @ self.float_of(node, matrix, zero)

    def op_convinteger(self, node, x, matrix, _, zero):
        return self.op_conv(node, x, self.float_of(node, matrix, zero, [-1] + [1] * (matrix.ndim - 1)))

    def op_conv(self, node, x, matrix, bias=None):
        a = node.attributes
        before, after = a["pads"]
        if before != after:
            x, before = F.pad(x, (before, after)), 0
        return F.conv1d(x, matrix, bias, a["strides"], before, a["dilations"], a["group"])

    def op_convtranspose(self, node, x, matrix, bias=None):
        a = node.attributes
        more = a.get("output_padding", [0])
        return F.conv_transpose1d(x, matrix, bias, a["strides"], a["pads"][0], more, a["group"], a["dilations"])

    def op_dynamicquantizelstm(self, node, x, wide, deep, bias, _, hidden, cell, __, wide_scale, wide_zero, deep_scale, deep_zero):
        key = node.outputs[0]
        if key not in self.cache:

            def matrix(values, scale, zero):
                shape = (-1, 1, 1)
                plain = (values.to(self.device).float() - zero.to(self.device).float().reshape(shape)) * scale.reshape(shape)
                return plain.transpose(1, 2)  # (directions, 4 * hidden, in)

            size = node.attributes["hidden_size"]
            order = torch.cat([torch.arange(size) + size * gate for gate in (0, 2, 3, 1)]).to(self.device)  # i o f c to i f c o
            w, r = matrix(wide, wide_scale, wide_zero)[:, order], matrix(deep, deep_scale, deep_zero)[:, order]
            lstm = torch.nn.LSTM(w.shape[2], size, bidirectional=True).to(self.device)
            for way, end in enumerate(("", "_reverse")):
                getattr(lstm, f"weight_ih_l0{end}").copy_(w[way])
                getattr(lstm, f"weight_hh_l0{end}").copy_(r[way])
                getattr(lstm, f"bias_ih_l0{end}").copy_(bias[way, : 4 * size][order])
                getattr(lstm, f"bias_hh_l0{end}").copy_(bias[way, 4 * size :][order])
            lstm.flatten_parameters()
            self.cache[key] = lstm
        lstm = self.cache[key]
        found, _ = lstm(x)
        length, batch, _ = found.shape
        return found.view(length, batch, 2, -1).transpose(1, 2)

    def op_stft(self, node, x, step, window, length):
        found = torch.stft(x.reshape(x.shape[0], -1), int(length), int(step), window=window.to(x.device), center=False, return_complex=True)
        return torch.view_as_real(found.transpose(1, 2))

    # Shapes and places.

    def op_cast(self, node, x):
        return x.to(KINDS[node.attributes["to"]])

    def op_shape(self, node, x):
        return torch.tensor(x.shape)

    def op_reshape(self, node, x, shape):
        sizes = shape.tolist()
        return x.reshape([x.shape[place] if size == 0 else size for place, size in enumerate(sizes)])

    def op_expand(self, node, x, shape):
        return x.expand(torch.broadcast_shapes(x.shape, shape.tolist()))

    def op_unsqueeze(self, node, x, axes):
        for axis in sorted(axes.tolist()):
            x = x.unsqueeze(axis)
        return x

    def op_squeeze(self, node, x, axes):
        for axis in sorted(axes.tolist(), reverse=True):
            x = x.squeeze(axis)
        return x

    def op_concat(self, node, *parts):
        device = next((part.device for part in parts if part.is_cuda), parts[0].device)
        return torch.cat([part.to(device) for part in parts], node.attributes["axis"])

    def op_split(self, node, x, sizes):
        return x.split(sizes.tolist(), node.attributes.get("axis", 0))

    def op_transpose(self, node, x):
        return x.permute(node.attributes["perm"])

    def op_slice(self, node, x, starts, ends, axes=None, steps=None):
        axes = axes.tolist() if axes is not None else range(len(starts))
        steps = steps.tolist() if steps is not None else [1] * len(starts)
        for start, end, axis, step in zip(starts.tolist(), ends.tolist(), axes, steps):
            size = x.shape[axis]
            if step < 0:
                places = range(size)[start : end if end >= -size else None : step]
                x = x.index_select(axis, torch.tensor(list(places), device=x.device))
            else:
                x = x[(slice(None),) * (axis % x.ndim) + (slice(start, min(end, size), step),)]
        return x

    def op_gather(self, node, x, places):
        axis = node.attributes.get("axis", 0)
        places = places.to(x.device)
        places = torch.where(places < 0, places + x.shape[axis], places)
        flat = x.index_select(axis, places.reshape(-1))
        return flat.reshape([*x.shape[:axis], *places.shape, *x.shape[axis + 1 :]])

    def op_constantofshape(self, node, shape):
        value = torch.from_numpy(np.array(numpy_helper.to_array(node.attributes["value"])))
        value = value.to(self.device) if value.is_floating_point() else value
        return value.expand(shape.tolist()).clone() if len(shape) else value.reshape(())

    def op_range(self, node, start, end, step):
        return torch.arange(start.item(), end.item(), step.item())

    def op_nonzero(self, node, x):
        return x.nonzero().T

    def op_scatternd(self, node, x, places, values):
        x = x.clone()
        x[tuple(places.to(x.device).unbind(-1))] = values.to(x.device)
        return x

    def op_pad(self, node, x, pads):
        before, after = pads.tolist()[: x.ndim], pads.tolist()[x.ndim :]
        flat = x.reshape(1, -1, x.shape[-1])
        found = F.pad(flat, (before[-1], after[-1]), mode=node.attributes["mode"].decode())
        return found.reshape(*x.shape[:-1], -1)

    def op_resize(self, node, x, _, scales):
        scale = float(scales[-1])
        if node.attributes["mode"] == b"nearest":
            return F.interpolate(x, scale_factor=scale, mode="nearest")
        return F.interpolate(x, scale_factor=scale, mode="linear", align_corners=False, recompute_scale_factor=False)


class Node:
    def __init__(self, kind, inputs, outputs, attributes):
        self.kind, self.inputs, self.outputs, self.attributes = kind, inputs, outputs, attributes


class Slot:
    def __init__(self, name):
        self.name = name
