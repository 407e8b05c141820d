"""A chain is edited over the protocol by a client that others wrote: what the server says it can do, and what it answers, is
read by that client's own types, which refuse what the protocol does not know.

Usage: pytest language_server.py, with COLDWRIGHT the program and CHAIN a folder with the chain `belfry`.
"""

import os
import pathlib

import pytest
import pytest_lsp
from lsprotocol import types as lsp
from pytest_lsp import ClientServerConfig, LanguageClient, client_capabilities

FOLDER = pathlib.Path(os.environ["CHAIN"])
URI = (FOLDER / "chimes.asm").as_uri()
TEXT = (FOLDER / "chimes.asm").read_text()
HERE = lsp.TextDocumentIdentifier(uri=URI)


@pytest_lsp.fixture(config=ClientServerConfig(server_command=[os.environ["COLDWRIGHT"], "language-server"]))
async def client(lsp_client: LanguageClient):
    asked = lsp.InitializeParams(capabilities=client_capabilities("neovim"), root_uri=FOLDER.as_uri())
    await lsp_client.initialize_session(asked)
    opened = lsp.TextDocumentItem(uri=URI, language_id="asm", version=1, text=TEXT)
    lsp_client.text_document_did_open(lsp.DidOpenTextDocumentParams(text_document=opened))
    yield
    await lsp_client.shutdown_session()


def place(word):
    """The first letter of a word's first place."""
    before = TEXT[: TEXT.index(word)]
    return lsp.Position(line=before.count("\n"), character=len(before.rpartition("\n")[2]))


def all_of_it():
    return lsp.Range(start=lsp.Position(0, 0), end=lsp.Position(TEXT.count("\n"), 0))


@pytest.mark.asyncio
async def test_questions_of_a_place(client: LanguageClient):
    at = place("BELLS")
    hover = await client.text_document_hover_async(lsp.HoverParams(HERE, at))
    assert "bell strikers" in hover.contents.value
    defined = await client.text_document_definition_async(lsp.DefinitionParams(HERE, at))
    assert defined[0].uri == (FOLDER / "ports.asm").as_uri()
    context = lsp.ReferenceContext(include_declaration=True)
    used = await client.text_document_references_async(lsp.ReferenceParams(context=context, text_document=HERE, position=at))
    assert {it.uri for it in used} == {(FOLDER / name).as_uri() for name in ("chimes.asm", "courier.asm", "ports.asm")}
    offered = await client.text_document_completion_async(lsp.CompletionParams(HERE, place("CALL")))
    assert {"CALL", "MVI", "DB"} <= {it.label for it in getattr(offered, "items", offered)}
    renamed = await client.text_document_rename_async(lsp.RenameParams(HERE, at, new_name="STRIKER"))
    assert set(renamed.changes) == {it.uri for it in used}


@pytest.mark.asyncio
async def test_questions_of_a_text(client: LanguageClient):
    symbols = await client.text_document_document_symbol_async(lsp.DocumentSymbolParams(HERE))
    assert "REST" in {it.name for it in symbols}
    lenses = await client.text_document_code_lens_async(lsp.CodeLensParams(HERE))
    assert lenses[0].command.title == "stage chimes: 118 bytes on tape as blocks"
    hints = await client.text_document_inlay_hint_async(lsp.InlayHintParams(HERE, all_of_it()))
    assert hints[0].label == "000400: 061 000 040"
    assert await client.text_document_folding_range_async(lsp.FoldingRangeParams(HERE))
    colours = await client.text_document_semantic_tokens_full_async(lsp.SemanticTokensParams(HERE))
    assert len(colours.data) % 5 == 0 and colours.data
    options = lsp.FormattingOptions(tab_size=8, insert_spaces=True)
    assert not await client.text_document_formatting_async(lsp.DocumentFormattingParams(HERE, options))


@pytest.mark.asyncio
async def test_a_mistake_and_its_mend(client: LanguageClient):
    start = place("BELLS")
    spot = lsp.Range(start=start, end=lsp.Position(start.line, start.character + 5))
    change = lsp.TextDocumentContentChangePartial(range=spot, text="BELS")
    changed = lsp.VersionedTextDocumentIdentifier(uri=URI, version=2)
    client.text_document_did_change(lsp.DidChangeTextDocumentParams(changed, [change]))
    while not client.diagnostics.get(URI):
        await client.wait_for_notification(lsp.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)
    told = client.diagnostics[URI]
    assert [it.code for it in told] == ["symbol-undefined"]
    asked = lsp.CodeActionParams(HERE, told[0].range, lsp.CodeActionContext(diagnostics=told))
    actions = await client.text_document_code_action_async(asked)
    assert [it.edit.changes[URI][0].new_text for it in actions] == ["BELLS"]
