from django.urls import path

from fieldwork.views import contacts, entries, phones

app_name = "fieldwork"

urlpatterns = [
    path("field/entries/<uuid:entry>/", entries.field_entry, name="field-entry"),
    path("field/contact/", contacts.field_contact, name="field-contact"),
    path("field/who/", entries.field_who, name="field-who"),
    path("field/phones/", phones.phone_list, name="phone-list"),
    path("field/phones/take-in/", phones.phone_take_in, name="phone-take-in"),
    path("field/phones/entries/<uuid:pk>/dealt-with/", phones.phone_settle, name="phone-settle"),
]
