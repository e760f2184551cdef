"""The questionnaire."""
