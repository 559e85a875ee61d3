"""Compiles the kernel's inner functions without making machine code of each.

Only the entry is ever called from Python, so the inner functions need be linked, not finished: they are
linked once and optimised together, inside the entry.  That leans on numba's internals, all of it in this file
and in ``quick.py``; where they are not as expected, plain compiling takes over and only the first start is slower.
"""

from __future__ import annotations

from functools import cache
from typing import Any, NamedTuple

UNUSED = frozenset(
    {"WithLifting", "InlineClosureLikes", "RewriteDynamicRaises", "MakeFunctionToJitFunction", "InlineInlinables",
     "InlineOverloads", "NoPythonSupportedFeatureValidation", "AnnotateTypes", "DumpParforDiagnostics",
     "LiteralUnroll", "FindLiterallyCalls", "LiteralPropagationSubPipelinePass"}
)  # fmt: skip
"""Passes of numba for what no part or solver function may contain: closures, exceptions, ``with``, loop unrolling."""


APART = frozenset({"evaluate", "trial_state", "error_norm", "dense"})
"""Functions that never read through one argument what they write through another, which LLVM is told: 3 % faster."""


TRIED = (22,)
"""Major versions of LLVM with which the option below was tried: of one it does not know it would end the process."""


@cache
def _no_running_pointers() -> None:
    """Have LLVM, once a process, make addresses from the index as it stands, not keep a running pointer for each array.

    A pass over all parts touches a dozen arrays: their pointers do not fit the registers, and to move each on in memory
    costs a tenth of the kernel's time.  Whatever else this process compiles later does without them too.
    """
    from llvmlite.binding import llvm_version_info, set_option

    if llvm_version_info[0] in TRIED:
        set_option("simcore", "-disable-lsr")


class Pipelines(NamedTuple):
    """numba compiler classes for inner functions and for the entry, and what holds an inner function's code."""

    inner: Any
    entry: Any
    library: Any


def lean(options: dict[str, Any], entry: bool = False) -> dict[str, Any]:
    """The options of a kernel function, with the lean pipeline if this numba allows it."""
    try:
        made = pipelines()
    except (ImportError, AttributeError, TypeError):
        return options
    return {**options, "pipeline_class": made.entry if entry else made.inner}


def _named_alike(function: Any) -> None:
    """The same symbol in every process: what two of them have compiled is then linked once.

    numba numbers functions as it meets them; the kernel's have names of their own (see ``Adopter.rebound``).
    """
    function.unique_id = 0
    function.unique_name = f"{function.func_qualname}$0"


def linked_only(library: Any, fndesc: Any, env: Any) -> Any:
    """Stands for an inner function in numba's tables, which want a built-in function; never called."""
    own: list[Any] = [fndesc]
    return own.append


def all_below(library: Any) -> list[Any]:
    """Every library that ``library`` needs, directly or not, each once, in the order met."""
    found: dict[Any, None] = {}
    stack = list(reversed(library._linking_libraries))
    while stack:
        one = stack.pop()
        if one not in found:
            found[one] = None
            stack += reversed(getattr(one, "_linking_libraries", []))
    return list(found)


def _link_below(library: Any, module: Any) -> None:
    """Link into ``module`` the code of all that ``library`` calls."""
    for one in all_below(library):
        library._reload_init.update(one._reload_init)
        code = one.own_code() if hasattr(one, "own_code") else one._get_module_for_linking()
        module.link_in(code, preserve=True)


def _close(module: Any, own: set[str]) -> None:
    """Nobody calls the linked functions from outside: LLVM may then drop what no caller needs of their arguments."""
    for f in module.functions:
        if not f.is_declaration and f.name not in own:
            f.linkage = "internal"


def _names_only(module: Any) -> bytes:
    """A module that defines all that ``module`` defines for others, as hollow as can be."""
    from llvmlite.binding import parse_assembly

    lines = [f'target triple = "{module.triple}"', f'target datalayout = "{module.data_layout}"']
    lines += [f'define void @"{f.name}"() {{ ret void }}' for f in module.functions if _is_public(f)]
    lines += [f'@"{v.name}" = global i8 0' for v in module.global_variables if _is_public(v)]
    hollow: bytes = parse_assembly("\n".join(lines)).as_bitcode()
    return hollow


def _is_public(value: Any) -> bool:
    return not value.is_declaration and value.linkage.name not in ("internal", "private")


@cache
def pipelines() -> Pipelines:
    """numba's pipeline with its last pass replaced."""
    from llvmlite.binding import create_pass_builder, create_pipeline_tuning_options
    from numba.core.codegen import JITCodeLibrary
    from numba.core.compiler import CompilerBase, DefaultPassBuilder
    from numba.core.compiler_machinery import register_pass
    from numba.core.typed_passes import NativeLowering

    class LinkedLibrary(JITCodeLibrary):  # type: ignore[misc]
        """Code that is never run by itself."""

        def finalize(self) -> None:
            self._finalized = True

        def own_code(self) -> Any:
            return super()._get_module_for_linking()

        def _get_module_for_linking(self) -> Any:
            """For a caller that is no entry: with all that it calls."""
            whole = self.own_code().clone()
            _link_below(self, whole)
            return whole

    class EntryLibrary(JITCodeLibrary):  # type: ignore[misc]
        """The entry's code, with all that it calls, each once."""

        def finalize(self) -> None:
            _no_running_pointers()
            own = {f.name for f in self._final_module.functions if not f.is_declaration}
            _link_below(self, self._final_module)
            _close(self._final_module, own)
            self._linking_libraries: list[Any] = []
            super().finalize()

        def _optimize_final_module(self) -> None:
            """Once, as there are no reference counts to bring together first; level 2 runs no slower than 3.

            Loops are short here, over a line's states or guards: laid out several times they compile longer and run
            no faster.
            """
            tuning = create_pipeline_tuning_options(speed_level=2)
            tuning.loop_vectorization = True
            tuning.slp_vectorization = False
            tuning.loop_interleaving = False
            tuning.loop_unrolling = False
            builder = create_pass_builder(self._codegen._tm, tuning)
            builder.getModulePassManager().run(self._final_module, builder)

        def serialize_using_object_code(self) -> tuple[str, str, tuple[bytes, bytes]]:
            """Without the code for callers that would be compiled later: it takes longest to read, and has none."""
            self._ensure_finalized()
            return self.name, "object", (self._get_compiled_object(), _names_only(self._get_module_for_linking()))

    @register_pass(mutates_CFG=True, analysis_only=False)
    class LinkedLowering(NativeLowering):  # type: ignore[misc]
        _name = "simcore_linked_lowering"

        def run_pass(self, state: Any) -> bool:
            context = state.targetctx
            state.library = LinkedLibrary(context.codegen(), state.func_id.func_qualname)
            context.get_executable = linked_only
            try:
                return bool(super().run_pass(state))
            finally:
                del context.get_executable

    @register_pass(mutates_CFG=True, analysis_only=False)
    class EntryLowering(NativeLowering):  # type: ignore[misc]
        _name = "simcore_entry_lowering"

        def run_pass(self, state: Any) -> bool:
            state.library = EntryLibrary(state.targetctx.codegen(), state.func_id.func_qualname)
            state.library.enable_object_caching()
            return bool(super().run_pass(state))

    def pipeline(state: Any, lowering: Any, dropped: frozenset[str]) -> list[Any]:
        manager = DefaultPassBuilder.define_nopython_pipeline(state)
        if not any(p is NativeLowering for p, _ in manager.passes):
            return [manager]
        kept = [(p, d) for p, d in manager.passes if p.__name__ not in dropped]
        manager.passes = [(lowering if p is NativeLowering else p, d) for p, d in kept]
        manager._finalized = False
        manager.finalize()
        return [manager]

    class InnerCompiler(CompilerBase):  # type: ignore[misc]
        def define_pipelines(self) -> list[Any]:
            _named_alike(self.state.func_id)
            if self.state.func_id.func.__name__ in APART:
                self.state.flags.noalias = True
            return pipeline(self.state, LinkedLowering, UNUSED)

    class EntryCompiler(CompilerBase):  # type: ignore[misc]
        def define_pipelines(self) -> list[Any]:
            return pipeline(self.state, EntryLowering, frozenset())

    return Pipelines(InnerCompiler, EntryCompiler, LinkedLibrary)
