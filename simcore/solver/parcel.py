"""A compiled inner function on its way from one process to another: signature, description and LLVM bitcode.

What it calls travels with it, but for one function that only the receiver has: a stand-in holds its place, and the
receiver puts its own there.  Leans on numba's internals as ``lean.py`` does.
"""

from __future__ import annotations

import pickle
from collections.abc import Callable
from typing import Any

from simcore.solver.lean import all_below, linked_only, pipelines


def sent(made: Any, stand_in: Any) -> bytes:
    """Pack the compiled function ``made``, without the code of ``stand_in`` (compiled as well)."""
    from numba.core.serialize import dumps

    made.fndesc.typemap = made.fndesc.calltypes = None
    code = made.library.own_code().clone()
    for one in all_below(made.library):
        if one is not stand_in.library:
            code.link_in(one.own_code() if hasattr(one, "own_code") else one._get_module_for_linking(), preserve=True)
    parcel: bytes = dumps((made.signature, made.fndesc, made.library.name, code.as_bitcode(), _symbol(stand_in)))
    return parcel


def received(parcel: bytes, context: Any, own: Callable[[], Any]) -> Any:
    """Unpack what was ``sent``, as if compiled here; what ``own`` gives, compiled here, takes the stand-in's place."""
    from llvmlite.binding import parse_bitcode
    from numba.core.compiler import compile_result

    signature, description, name, bitcode, symbol = pickle.loads(parcel)
    code = parse_bitcode(bitcode)
    library = pipelines().library(context.codegen(), name)
    if any(f.name == symbol for f in code.functions):
        code.get_function(symbol).name = _symbol(own())
        library.add_linking_library(own().library)
    library._final_module = code
    library.finalize()
    return compile_result(
        typing_context=context.typing_context, target_context=context, signature=signature, fndesc=description,
        library=library, entry_point=linked_only(library, description, None), objectmode=False, reload_init=[],
    )  # fmt: skip


def _symbol(made: Any) -> str:
    return str(made.fndesc.mangled_name)
