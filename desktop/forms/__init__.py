"""Forms built from any model."""

__all__ = [
    "arms_editor",
    "check_panel",
    "draft_line",
    "field_editors",
    "file_editor",
    "fold",
    "follow_pivot",
    "form",
    "form_draft",
    "made_sound",
    "model_fields",
    "move_panel",
    "number_field",
    "reading_panel",
]
