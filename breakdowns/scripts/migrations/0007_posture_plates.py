from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("scripts", "0006_second_view_and_curve")]

    operations = [
        migrations.AlterField(
            model_name="beat",
            name="plate",
            field=models.CharField(
                choices=[
                    ("title", "title"),
                    ("text", "text"),
                    ("caution", "caution"),
                    ("house", "house message"),
                    ("anatomy", "anatomy (muscle plate)"),
                    ("correction", "correction"),
                    ("posture", "posture (curves of a muscle)"),
                ],
                default="text",
                max_length=12,
            ),
        ),
    ]
